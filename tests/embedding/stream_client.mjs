// An example: a counter's program in JavaScript that keeps `tirerules decide -` running. The shop is invented.
// Usage: node stream_client.mjs COMMAND [ARGUMENT...] < cases, one JSON object a line
import { spawn } from "node:child_process";
import { createInterface } from "node:readline";

export class Rules {
  #process;
  #waiting = new Map();
  #last = 0;

  constructor(command, ...given) {
    this.#process = spawn(command, [...given, "decide", "-"], { stdio: ["pipe", "pipe", "inherit"] });
    this.#process.on("error", (error) => this.#fail(error));
    this.#process.on("exit", () => this.#fail(new Error("the rules have ended")));
    this.#process.stdin.on("error", (error) => this.#fail(error));
    createInterface({ input: this.#process.stdout }).on("line", (line) => {
      const { id, error, ...said } = JSON.parse(line);
      const { resolve, reject } = this.#waiting.get(id);
      this.#waiting.delete(id);
      if (error) reject(Object.assign(new Error(error.problems[0].message), { problems: error.problems }));
      else resolve(said.decision ?? said.about);
    });
  }

  #fail(error) {
    for (const { reject } of this.#waiting.values()) reject(error);
    this.#waiting.clear();
  }

  #send(message) {
    const id = ++this.#last;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      this.#process.stdin.write(JSON.stringify({ id, ...message }) + "\n");
    });
  }

  about() { return this.#send({ about: true }); }
  decide(ticket, answer = "whole") { return this.#send({ case: ticket, answer }); }
  close() { this.#process.stdin.end(); }
}

const rules = new Rules(...process.argv.slice(2));
const { protocol, engine } = await rules.about();
console.log(JSON.stringify({ protocol, engine }));
for await (const line of createInterface({ input: process.stdin })) {
  try {
    const { verdict, questions, digest } = await rules.decide(JSON.parse(line), "brief");
    console.log(JSON.stringify({ verdict, next: questions[0]?.path ?? null, digest }));
  } catch (error) {
    console.log(JSON.stringify({ refused: error.problems?.map(({ path, code }) => `${code} ${path ?? ""}`) ?? String(error) }));
  }
}
rules.close();
