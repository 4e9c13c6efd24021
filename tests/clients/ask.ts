// Asks a running service with types made from its contract, and prints what it answers, one line each.
import type { components, paths } from "./contract.js";

type Schemas = components["schemas"];
type Batch = paths["/v1/evaluations/batch"]["post"];

const address = process.argv[2] ?? "";

async function post<Answer>(path: keyof paths, body: unknown): Promise<Answer | Schemas["Problem"]> {
  const headers = { "content-type": "application/json" };
  const response = await fetch(address + path, { method: "POST", headers, body: JSON.stringify(body) });
  return (await response.json()) as Answer | Schemas["Problem"];
}

function told(answer: Schemas["Evaluation"] | Schemas["Problem"]): string {
  if ("code" in answer) {
    return `${answer.status} ${answer.code} ${answer.errors?.[0]?.pointer ?? ""}`;
  }
  return `${answer.stone_id} ${answer.verdict} ${answer.findings.length}`;
}

const emerald: Schemas["Stone"] = {
  id: "tray-1", shape: "emerald", carat: 1.46, color: "I", clarity: "VS2", length_mm: 8.21, width_mm: 5.6,
};
const single: Schemas["EvaluationRequest"] = { stone: emerald, ruleset: "house@1.0.0", as_of: "2026-11-25" };
console.log(told(await post<Schemas["Evaluation"]>("/v1/evaluations", single)));

const many: Batch["requestBody"]["content"]["application/json"] = {
  ruleset: "house@1.0.0",
  as_of: "2026-11-25",
  stones: [emerald, { id: "tray-2", shape: "oval", carat: "two" }],
};
type Answers = Batch["responses"]["200"]["content"]["application/json"];
const answers = await post<Answers>("/v1/evaluations/batch", many);
if ("code" in answers) {
  throw new Error(answers.detail);
}
answers.results.forEach((answer) => console.log(told(answer)));

// @ts-expect-error: no such shape, so the types know the words of requests
const unknown: Schemas["EvaluationRequest"] = { stone: { shape: "emrald" } };
console.log(told(await post<Schemas["Evaluation"]>("/v1/evaluations", unknown)));

const sets = (await (await fetch(`${address}/v1/rulesets`)).json()) as Schemas["RuleSetList"];
console.log(sets.rulesets.map((set) => set.name).join(" "));
