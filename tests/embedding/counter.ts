// A counter's backend in TypeScript, of an invented shop, with types made from the schemas: from an empty form to a
// decided and stored record, by asking only what the library asks. It keeps `tirerules decide -` running.
import { spawn } from "node:child_process";
import { createInterface } from "node:readline";
import type { BriefRecord } from "./brief.js";
import type { TireCase } from "./case.js";
import type { Question, TireDecision } from "./decision.js";

const [command, ...given] = process.argv.slice(2);
const rules = spawn(command as string, [...given, "decide", "-"], { stdio: ["pipe", "pipe", "inherit"] });
const lines = createInterface({ input: rules.stdout })[Symbol.asyncIterator]();

async function ask<Answer>(ticket: TireCase, answer: "whole" | "brief"): Promise<Answer> {
  rules.stdin.write(JSON.stringify({ id: 1, case: ticket, answer }) + "\n");
  const said = JSON.parse((await lines.next()).value as string);
  if (said.error) throw new Error(JSON.stringify(said.error));
  return said.decision as Answer;
}

// What lies on the bench of the invented shop.
const bench: Record<string, unknown> = {
  findings: [], earlier_repairs: [], injuries: [{}], "tire.class": "passenger", "injury.kind": "puncture",
  "injury.zone": "crown", "injury.diameter": "4 mm", "injury.angle": "10 deg", "tire.tread_depth": "7 mm",
  "vehicle.use": "private", "vehicle.kind": "passenger-car", "vehicle.gvwr": "1900 kg",
};

function entered(question: Question): unknown {
  if (question.fact in bench) return bench[question.fact];
  if (question.kind === "flag") return false;
  if (question.kind === "set" || question.kind === "records") return [];
  if (question.kind === "quantity") return `200 ${question.units?.[0]}`;
  return question.choices?.[0]?.word;
}

// Put a value where a JSON Pointer (RFC 6901) leads.
function put(ticket: TireCase, pointer: string, value: unknown): TireCase {
  const said = structuredClone(ticket);
  const steps = pointer.split("/").slice(1);
  const last = steps.pop() as string;
  let here = said as Record<string, any>;
  steps.forEach((step, at) => (here = here[step] ??= /^\d+$/.test(steps[at + 1] ?? last) ? [] : {}));
  here[last] = value;
  return said;
}

let ticket: TireCase = { jurisdictions: ["US-SC"], activity: "repair", on: "2026-11-25" };
let decision = await ask<TireDecision>(ticket, "whole");
const asked: string[] = [];
for (let question = decision.questions[0]; question; question = decision.questions[0]) {
  asked.push(question.fact);
  ticket = put(ticket, question.path, entered(question));
  decision = await ask<TireDecision>(ticket, "whole");
}
const record = await ask<BriefRecord>(ticket, "brief");
rules.stdin.end();
console.log(JSON.stringify({ asked, verdict: decision.verdict, record }));
