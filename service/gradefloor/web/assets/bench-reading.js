/** Pasted rows read by the service: what was read, what stayed open, and the form filled with it. */

import { find, make, post } from "./bench-elements.js";
import { cutPasted } from "./bench-pasted.js";

const MOST_SHOWN = 40;
let vocabulary = null;

/** `filled()` is called after the form took a pasted stone. */
export function watchPasted(form, filled) {
  let reading = 0;
  const run = async () => {
    const mine = (reading += 1);
    show(make("p", { class: "soft" }, "Reading…"));
    try {
      const shown = await readPasted(form, filled);
      if (mine === reading) show(...shown);
    } catch (trouble) {
      if (mine !== reading) return;
      const places = (trouble.problems ?? []).slice(0, 5).map(({ pointer, found, allowed }) => `${pointer}: found ${found}; allowed: ${allowed}.`);
      const words = places.length > 0 ? "The service cannot take these rows." : trouble.message;
      show(make("p", { class: "trouble" }, [words, ...places].join(" ")));
    }
  };
  find("read").addEventListener("click", run);
  find("pasted").addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) run();
  });
}

const show = (...children) => find("reading").replaceChildren(...children);

async function words() {
  if (vocabulary !== null) return vocabulary;
  let response;
  try {
    response = await fetch("/v1/vocabulary", { credentials: "omit" });
  } catch {
    throw new Error("The service does not answer. What you pasted is still here.");
  }
  if (!response.ok) throw new Error(`The service cannot answer now (${response.status}). What you pasted is still here.`);
  vocabulary = await response.json();
  return vocabulary;
}

async function readPasted(form, filled) {
  const names = new Set([...form.fields.keys()].filter((path) => path.startsWith("stone.")).map((path) => path.split(".")[1]));
  const isStone = (one) => Object.hasOwn(one, "shape") && Object.keys(one).every((name) => names.has(name));
  const cut = cutPasted(find("pasted").value, await words(), isStone);
  if (cut.words) return [make("p", {}, cut.words)];
  if (cut.requests) return chosen(cut.requests.map((request) => ({ request, remarks: [], open: [] })), form, filled);
  const asked = { rows: cut.rows, ...(cut.columns ? { columns: cut.columns } : {}) };
  const answer = await post("/v1/readings", asked);
  const readings = answer.results.map((result) => {
    const row = cut.rows[result.row];
    const open = answer.open_columns.filter((header) => Object.hasOwn(row, header)).map((header) => [header, row[header]]);
    const assumed = cut.assumed?.[result.row] ?? [];
    return { request: result.stone === null ? null : { stone: result.stone }, remarks: result.remarks, open, assumed };
  });
  const shown = chosen(readings, form, filled);
  if (cut.cut) shown.unshift(make("p", {}, `Only the first ${cut.rows.length} rows were read.`));
  return shown;
}

/** One stone goes into the form; of several a person chooses. */
function chosen(readings, form, filled) {
  if (readings.length === 1) return fill(readings[0], form, filled);
  const line = (reading, index) => {
    const stone = reading.request?.stone;
    const told = stone ? ["shape", "carat", "color", "clarity"].map((name) => stone[name]).filter((value) => value !== undefined) : ["no shape is certain"];
    const take = () => show(...fill(reading, form, filled), make("p", {}, `Row ${index + 1} of ${readings.length}.`));
    return make("li", {}, make("button", { type: "button", click: take }, `${index + 1}: ${told.map(String).join(" ")}`));
  };
  return [
    make("p", {}, `${readings.length} stones were read. Which one goes into the form?`),
    make("ol", { class: "lines" }, ...readings.slice(0, MOST_SHOWN).map(line)),
    ...(readings.length > MOST_SHOWN ? [make("p", {}, `The first ${MOST_SHOWN} are shown.`)] : []),
  ];
}

function fill({ request, remarks, open, assumed = [] }, form, filled) {
  const lines = [];
  const short = (value) => {
    const text = typeof value === "string" ? value : (JSON.stringify(value) ?? "");
    return text.length > 80 ? `${text.slice(0, 80)}…` : text;
  };
  let read = make("p", {}, make("strong", {}, "Nothing went into the form:"), " no shape is certain.");
  if (request !== null && typeof request.stone === "object" && request.stone !== null) {
    form.clear("stone.");
    if (request.context) form.clear("context.");
    const left = form.fill(request);
    for (const path of left) lines.push(["not taken", path]);
    const values = [...form.flat()].filter(([path]) => path.startsWith("stone.") && !left.includes(path));
    const said = values.map(([path, value]) => `${form.label(path)} ${short(form.say(path, value))}`);
    read = make("p", {}, make("strong", {}, "Read into the form:"), ` ${said.join("; ")}.`);
    filled();
  }
  for (const words of assumed) lines.push(["assumed", words]);
  const silent = remarks.filter(({ seen, read_as: readAs, ask }) => seen === "" && readAs === null && ask === null);
  for (const { field, seen, read_as: readAs, kind, ask } of remarks.filter((one) => !silent.includes(one))) {
    const parts = [seen === "" ? null : `seen “${short(seen)}”`, readAs === null ? null : `read as ${readAs}`, ask];
    lines.push([`${field}, ${kind.replaceAll("_", " ")}`, parts.filter((part) => part !== null).join("; ")]);
  }
  if (silent.length > 0) lines.push(["not stated", silent.map(({ field }) => field).join(", ")]);
  const unread = open.filter(([, value]) => value !== "");
  if (unread.length > 0) lines.push(["not read", unread.map(([header, value]) => `${short(header)} “${short(value)}”`).join(", ")]);
  const list = lines.slice(0, MOST_SHOWN).map(([about, text]) => make("li", {}, make("strong", {}, about), text === "" ? "" : `: ${text}`));
  if (list.length === 0) return [read, make("p", {}, "Nothing stayed open.")];
  return [read, make("p", {}, make("strong", {}, "Stayed open or assumed:")), make("ul", { class: "lines" }, ...list)];
}
