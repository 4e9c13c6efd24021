/** Pasted rows read by the service: what was read, what stayed open, and the form filled with it. */

import { find, make, post, words as inWords } from "./bench-elements.js";
import { lookUp, weightyOf } from "./bench-freerow.js";
import { cutPasted } from "./bench-pasted.js";
import { unsettled, warning } from "./bench-warned.js";
import { at } from "./stone-form.js";

const MOST_SHOWN = 40;
const FIELDS = new Map([
  ["origin", "stone.origin"],
  ["material", "stone.origin"],
  ["treatments", "stone.treatments"],
  ["color", "stone.color"],
]);
const OPEN = new Set(["unreadable", "ambiguous", "contradiction"]);
const BLANK = /^(?:[-–.*/?\s]*|n\/?a|none|null|no)$/i; // says nothing, or that there is nothing
const known = lookUp(JSON.parse(find("pasted").dataset.words));

/**
 * `filled(warnings)` is called after the form took a pasted stone, or could not take it; the second argument
 * says which. Returns what takes away the report, once the form holds another stone.
 */
export function watchPasted(form, filled) {
  let reading = 0;
  const run = async () => {
    const mine = (reading += 1);
    show(make("p", { class: "soft" }, "Reading…"));
    try {
      const shown = await readPasted(form, filled, () => mine === reading);
      if (shown !== null) show(...shown);
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
  return () => {
    reading += 1;
    show();
  };
}

const show = (...children) => find("reading").replaceChildren(...children);

/** What is to be shown; null where the form holds another stone meanwhile, or something else is read. */
async function readPasted(form, filled, wanted) {
  const members = new Set([...form.fields.keys()].filter((path) => path.startsWith("stone.")).map((path) => path.split(".")[1]));
  const isStone = (one) => Object.hasOwn(one, "shape") && Object.keys(one).every((name) => members.has(name));
  const cut = cutPasted(find("pasted").value, known, isStone);
  if (cut.words) return [make("p", {}, cut.words)];
  if (cut.requests) return chosen(cut.requests.map((request) => ({ request, remarks: [], open: [] })), form, filled);
  const asked = { rows: cut.rows, ...(cut.columns ? { columns: cut.columns } : {}) };
  const answer = await post("/v1/readings", asked);
  if (!wanted()) return null;
  const readings = answer.results.map((result) => {
    const row = cut.rows[result.row];
    const headed = answer.open_columns.filter((header) => Object.hasOwn(row, header)).map((header) => [header, row[header]]);
    const open = [...headed, ...(cut.unread?.[result.row] ?? []).map(({ place, text }) => [place, text, true])];
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
  const taken = request !== null && typeof request.stone === "object" && request.stone !== null;
  const short = (value) => {
    const text = typeof value === "string" ? value : (JSON.stringify(value) ?? "");
    return text.length > 80 ? `${text.slice(0, 80)}…` : text;
  };
  const warnings = [];
  const fancy = remarks.find(({ field, read_as: readAs }) => field === "color" && readAs === "a fancy color");
  const why = fancy ? `“${short(fancy.seen)}” is a fancy color, graded on a scale of its own.` : "no shape is certain.";
  let read = make("p", {}, make("strong", {}, "Nothing went into the form:"), ` ${why}`);
  if (taken) {
    if (form.isExample()) form.clear("context.", "finger."); // its setting is as invented as the stone
    form.clear("stone.");
    if (request.context) form.clear("context.", "context.jewelry");
    const left = form.fill(request);
    for (const path of left) {
      lines.push(["not taken", inWords(path)]);
      const value = at(request, path);
      const about = weightyOf(`${inWords(path)} ${short(value)}`, known);
      if (about !== null) warnings.push(warning(about, `${inWords(path)} “${short(value)}”`));
    }
    const values = [...form.flat()].filter(([path]) => path.startsWith("stone.") && !left.includes(path));
    const said = values.map(([path, value]) => `${form.label(path)} ${short(form.say(path, value))}`);
    read = make("p", {}, make("strong", {}, "Read into the form:"), ` ${said.join("; ")}.`);
  }
  for (const words of assumed) lines.push(["assumed", words]);
  const silent = remarks.filter(({ seen, read_as: readAs, ask }) => seen === "" && readAs === null && ask === null);
  for (const { field, seen, read_as: readAs, kind, ask } of remarks.filter((one) => !silent.includes(one))) {
    const parts = [seen === "" ? null : `seen “${short(seen)}”`, readAs === null ? null : `read as ${inWords(readAs)}`, ask];
    lines.push([inWords(`${field}, ${kind}`), parts.filter((part) => part !== null).join("; ")]);
    const about = FIELDS.get(field);
    if (about === undefined || !OPEN.has(kind) || (field === "color" && weightyOf(seen, known) === null)) continue;
    const word = `“${short(seen)}”`;
    const inStone = taken && readAs !== null && Object.hasOwn(request.stone, field);
    warnings.push(inStone ? unsettled(about, word, inWords(readAs), ask) : warning(about, word, ask));
  }
  if (silent.length > 0) lines.push(["not stated", silent.map(({ field }) => inWords(field)).join(", ")]);
  const unread = open.filter(([, value]) => value !== "" && value !== null);
  const named = ([header, value, placed]) => (placed ? `“${short(value)}” (${header})` : `${short(header)} “${short(value)}”`);
  if (unread.length > 0) lines.push(["not read", unread.slice(0, MOST_SHOWN).map(named).join(", ")]);
  for (const one of unread.filter(([, value]) => !BLANK.test(short(value)))) {
    const about = weightyOf(one[2] ? one[1] : `${one[0]} ${short(one[1])}`, known);
    if (about !== null) warnings.push(warning(about, named(one)));
  }
  const before = `What was pasted last did not go into the form: ${why} What is judged here is what was there before.`;
  filled(taken ? warnings : [{ about: null, words: before }], taken);
  const list = lines.slice(0, MOST_SHOWN).map(([about, text]) => make("li", {}, make("strong", {}, about), text === "" ? "" : `: ${text}`));
  if (list.length === 0) return [read, make("p", {}, "Nothing stayed open.")];
  return [read, make("p", {}, make("strong", {}, "Stayed open or assumed:")), make("ul", { class: "lines" }, ...list)];
}
