// Validates documents in Ajv's strict mode. Standard input: {schemas: {name: schema}, documents: {name: [document]}}.
// Standard output: what is wrong, by name. `enumDescriptions` explains words to editors; JSON Schema lets a reader pass over it.
import Ajv from "ajv/dist/2020.js";
import formats from "ajv-formats";

const chunks = [];
for await (const chunk of process.stdin) chunks.push(chunk);
const { schemas, documents } = JSON.parse(Buffer.concat(chunks).toString());
const wrong = {};
for (const [name, schema] of Object.entries(schemas)) {
  const ajv = new Ajv.default({ strict: true, allErrors: true });
  formats.default(ajv);
  ajv.addVocabulary(["enumDescriptions"]);
  const validate = ajv.compile(schema);
  wrong[name] = documents[name].flatMap((each) => (validate(each) ? [] : [validate.errors]));
}
console.log(JSON.stringify(wrong));
