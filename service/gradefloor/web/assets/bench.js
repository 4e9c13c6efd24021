/** The bench: what the form holds is asked about as it changes, and what was answered is shown. */

import * as address from "./bench-address.js";
import { showAnswer, showNothing, supposition } from "./bench-answer.js";
import { find, make, post, verdictWord } from "./bench-elements.js";
import { showFigures, showRatios } from "./bench-figures.js";
import { watchCommand } from "./bench-command.js";
import { watchPasted } from "./bench-reading.js";
import { Tray } from "./bench-tray.js";
import { Warned, warningsOf } from "./bench-warned.js";
import { StoneForm } from "./stone-form.js";

const TYPING_MS = 250;
const CHOOSING_MS = 100; // a letter or an arrow key may pass by grades that nobody means
const PASSING_MS = 1000;
const MOST_STEPS = 5;
const AROUND = ["ruleset", "as_of", "context"];
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

find("stone").reset(); // what a browser put back belongs to no answer
const form = new StoneForm(find("stone"), onChange);
const supposed = new Map(); // fields that are not as stated, and what was stated
let timer = 0;
let controller = null;
let answered = null; // the last answer, with the values that it was given for
let chain = null; // how the verdict moved along one field
let hypothesis = null; // words of the supposition that is being tried
let passing = false; // whether the last change may have been on its way to another
let unsure = false; // whether the form holds what has no answer yet
let asked = 0; // how often what the form holds has changed; answered once the page shows what is said of it
let pastedStone = null; // the stone that the report on what was pasted speaks of

const warned = new Warned(() => ask(0));

const tray = new Tray({
  name: nameOf,
  back(item) {
    form.clear("stone.");
    form.fill({ stone: item.stone });
    mark(item.marks);
    forgetPasted(item.warned);
    beginAnew();
    find("stone-shape").focus();
  },
  changed: writeAddress,
});
const showCommand = watchCommand();

function onChange(path, stepped) {
  supposed.delete(path);
  warned.settle(path);
  passing = !stepped;
  ask(stepped ? 0 : form.typed(path) ? TYPING_MS : CHOOSING_MS);
}

function nameOf(stone) {
  const size = stone.length_mm && stone.width_mm ? `${stone.length_mm} × ${stone.width_mm} mm` : null;
  const weight = stone.carat === undefined ? null : `${stone.carat} ct`;
  const parts = [fullName(stone), weight, stone.color, stone.clarity, size];
  return parts.filter((part) => part !== null && part !== undefined).join(" ");
}

const MADE = new Map([["laboratory_grown", "Laboratory-grown"], ["natural", "Natural"]]);

/** What it is, how it was made, its shape, and what was done to it: "Laboratory-grown diamond, oval". */
function fullName(stone) {
  const material = form.say("stone.material", stone.material ?? "diamond");
  const made = MADE.get(stone.origin);
  // Of a diamond whose origin nobody stated it is not said that it is one: it would be taken for a mined one.
  const unstated = material.toLowerCase() === "diamond" ? "Origin not stated" : material;
  const name = made === undefined ? unstated : `${made} ${material.toLowerCase()}`;
  const done = [stone.treatments ?? []].flat().map((one) => (one === "other" ? "treated" : form.say("stone.treatments", one).toLowerCase()));
  return [name, form.say("stone.shape", stone.shape).toLowerCase(), ...done].join(", ");
}

/** Ask after a while in which nothing more was typed; what was asked before is let go. */
function ask(after) {
  unsure = true;
  asked += 1;
  find("verdict").dataset.asked = asked;
  clearTimeout(timer);
  controller?.abort();
  timer = setTimeout(judge, after);
}

async function judge() {
  controller = new AbortController();
  const { signal } = controller;
  const request = form.read();
  const mine = asked;
  if (pastedStone !== null && pastedStone.shape !== request.stone.shape) forgetPasted(warned.items);
  if (answered?.flat.get("stone.shape") !== request.stone.shape) showRatios(find("ratios"), form, null);
  find("invented").hidden = !form.isExample();
  showSupposed();
  showFigures(find("figures"), form);
  showStated();
  showCommand(request);
  writeAddress();
  if (request.stone.shape === undefined) {
    noAnswer("Choose a shape; without one nothing can be said.", []);
    find("verdict").dataset.answered = mine;
    return;
  }
  find("verdict").setAttribute("aria-busy", "true");
  try {
    const answer = await post("/v1/evaluations", request, signal);
    if (signal.aborted) return;
    unsure = false;
    form.showProblems([]);
    tell("", false);
    showMove(answer);
    showAnswer(answer, form, { suppose, answer: giveAnswer });
    if (supposed.size > 0) find("sense").textContent = "as supposed below, not as stated.";
    else if (warned.items.length > 0) find("sense").textContent = "without what is warned of above.";
    answered = { verdict: answer.verdict, findings: answer.findings, flat: form.flat(), ruleset: answer.ruleset };
    showRatios(find("ratios"), form, answer.ruleset);
    const around = Object.fromEntries(AROUND.filter((name) => request[name] !== undefined).map((name) => [name, request[name]]));
    if (!same(around, tray.around)) tray.refresh(around);
  } catch (trouble) {
    if (trouble.name === "AbortError" || signal.aborted) return;
    noAnswer(trouble.message, trouble.problems ?? []);
  } finally {
    if (!signal.aborted) {
      find("verdict").removeAttribute("aria-busy");
      find("verdict").dataset.answered = mine;
    }
  }
}

/** Nothing is left standing that was said of other values. */
function noAnswer(words, problems) {
  const elsewhere = form.showProblems(problems);
  showNothing();
  showRatios(find("ratios"), form, null);
  if (pastedStone !== null && !same(pastedStone, form.read().stone)) forgetPasted(warned.items);
  find("moves").hidden = true;
  answered = null;
  chain = null;
  hypothesis = null;
  tell([words, ...elsewhere].join(" "), problems.length === 0);
}

function tell(words, again) {
  const trouble = find("trouble");
  if (trouble.textContent !== words) trouble.textContent = words;
  trouble.hidden = words === "";
  find("again").hidden = !again || words === "" || form.value("stone.shape") === undefined;
}

/** How the verdict moved since the last answer, said politely where it did. */
function showMove({ verdict, findings }) {
  if (answered === null) {
    find("heard").textContent = `Verdict: ${verdict}.`;
    return;
  }
  const now = form.flat();
  const paths = [...form.fields.keys()].filter((path) => !path.startsWith("finger.") && !same(now.get(path), answered.flat.get(path)));
  if (paths.length === 0 && verdict === answered.verdict) return;
  const step = (flat, word) => ({ said: paths.map((path) => form.say(path, flat.get(path))).join(", "), verdict: word });
  const [path] = paths;
  if (chain !== null && paths.length === 1 && chain.path === path && hypothesis === null) {
    const onTheWay = passing && (form.typed(path) || performance.now() - chain.at < PASSING_MS);
    if (onTheWay && chain.steps.length > 1) chain.steps.pop();
    chain.steps.push(step(now, verdict));
    if (chain.steps.length > MOST_STEPS) chain.steps.shift();
  } else {
    const label = paths.length === 1 ? form.label(path) : `${paths.length} fields`;
    const before = paths.length === 1 ? step(answered.flat, answered.verdict) : { said: "", verdict: answered.verdict };
    const after = paths.length === 1 ? step(now, verdict) : { said: "", verdict };
    chain = { path: paths.length === 1 ? path : null, label: hypothesis?.words ?? label, steps: [before, after], supposed: hypothesis !== null };
  }
  chain.at = performance.now();
  const part = hypothesis === null ? [] : moveOf(hypothesis.finding, findings);
  const focusIt = hypothesis !== null;
  hypothesis = null;
  const line = find("moves");
  const shown = chain.steps.flatMap(({ said, verdict: word }, index) => [
    index === 0 ? "" : " → ",
    chain.supposed || said === "" ? "" : `${said} `,
    verdictWord(word),
  ]);
  line.replaceChildren(make("strong", {}, `${chain.label}:`), " ", ...shown, ...part);
  line.hidden = false;
  if (verdict !== answered.verdict) find("heard").textContent = `Verdict: ${verdict}, before: ${answered.verdict}.`;
  if (focusIt) line.focus({ preventScroll: false });
}

/** How one finding moved, which the verdict as a whole may not show. */
function moveOf(before, findings) {
  const now = findings.find((one) => one.rule === before.rule);
  if (now === undefined) return ["; ", make("span", {}, `${before.topic} is no longer asked about`)];
  return ["; ", make("span", {}, `${before.topic} `), verdictWord(before.verdict), " → ", verdictWord(now.verdict)];
}

/** Try what a finding says would turn it. It stays marked as supposed until it is stated or put back. */
function suppose(finding) {
  hypothesis = { finding, words: supposition(form, finding.change) };
  for (const { field, value } of finding.change) {
    if (!supposed.has(field)) supposed.set(field, form.value(field));
    form.put(field, value);
  }
  ask(0);
}

function giveAnswer(path, value) {
  form.put(path, value);
  onChange(path, true);
}

function putBack() {
  for (const [path, value] of supposed) form.put(path, value);
  supposed.clear();
  ask(0);
  find("moves").focus();
}

const supposedWords = () => [...supposed.keys()].map((path) => `${form.label(path)} ${form.say(path, form.value(path))}`);

function showSupposed() {
  const place = find("supposed");
  place.hidden = supposed.size === 0;
  const words = [...supposed].map(([path, was]) => `${form.label(path)} ${form.say(path, form.value(path))} (stated: ${form.say(path, was)})`);
  place.replaceChildren(
    `Supposed, not stated: ${words.join("; ")}. `,
    make("button", { type: "button", id: "put-back", click: putBack }, "Put it back"),
  );
}

/** The stone in words, for paper. */
function showStated() {
  const rows = [...form.flat()].map(([path, value]) =>
    make("div", {}, make("dt", {}, form.label(path)), make("dd", {}, `${form.say(path, value)}${supposed.has(path) ? " (supposed)" : ""}`)),
  );
  if (form.isExample()) rows.unshift(make("div", {}, make("dt", {}, "This stone"), make("dd", {}, "is invented")));
  find("stated").replaceChildren(...rows);
}

/** The form and the tray in the address, so that a link or a reload keeps them. */
function writeAddress() {
  const now = form.isExample() && warned.items.length === 0 ? null : { ...form.read(), finger: form.fingerOnly(), supposed: [...supposed], warned: warned.items };
  const kept = tray.items;
  const state = now === null && kept.length === 0 ? "" : address.write({ now, kept });
  if (state !== location.hash) history.replaceState(null, "", state === "" ? location.pathname : state);
}

/** Mark fields as supposed; each pair is a field and what was stated of it. */
function mark(pairs) {
  supposed.clear();
  for (const pair of Array.isArray(pairs) ? pairs : [])
    if (Array.isArray(pair) && form.fields.has(pair[0])) supposed.set(pair[0], pair[1] ?? undefined);
}

const LETTER = /^[A-D]$/;
const plain = (value) => value === null || typeof value !== "object" || (Array.isArray(value) && value.every((one) => typeof one !== "object"));

/** Whether it can be a stone that was kept: only words, numbers and lists of them, two levels deep. */
function isKept(one) {
  if (one === null || typeof one !== "object" || typeof one.letter !== "string" || !LETTER.test(one.letter)) return false;
  if (one.stone === null || typeof one.stone !== "object" || Array.isArray(one.stone)) return false;
  return Object.values(one.stone).every((value) => plain(value) || Object.values(value).every(plain));
}

function readAddress() {
  const state = address.read(location.hash);
  if (state === null) return;
  if (state.now !== null && typeof state.now === "object") {
    form.clear("");
    const { supposed: marked, warned: warnings, ...request } = state.now;
    form.fill(request);
    mark(marked);
    forgetPasted(warnings);
  }
  const kept = Array.isArray(state.kept) ? state.kept : [];
  tray.items = kept
    .filter(isKept)
    .filter((one, index, all) => all.findIndex((other) => other.letter === one.letter) === index)
    .slice(0, tray.most)
    .map(({ letter, stone, supposed: words, marks, warned: warnings }) => ({
      letter, stone, marks, supposed: Array.isArray(words) ? words.filter((word) => typeof word === "string") : [],
      warned: warningsOf(warnings),
    }));
  tray.around = {};
  tray.refresh(tray.around);
}

/** Another stone: how the verdict of the one before moved says nothing of it. */
function beginAnew() {
  answered = null;
  chain = null;
  hypothesis = null;
  find("moves").hidden = true;
  ask(0);
}

/** The report on what was pasted goes; warnings stay with the stone that they are about. */
function forgetPasted(warnings) {
  pastedStone = null;
  forgetReport();
  warned.put(warnings);
}

function startEmpty() {
  supposed.clear();
  forgetPasted([]);
  form.clear("stone.", "context.", "finger.", "as_of");
  beginAnew();
  find("stone-shape").focus();
}

find("keep").addEventListener("click", () => {
  if (unsure || answered === null) tray.say("It has to be judged before it can be kept.");
  else tray.keep(form.read().stone, supposedWords(), [...supposed], warned.items.filter((one) => one.about !== null));
});
find("again").addEventListener("click", () => ask(0));
find("clear").addEventListener("click", startEmpty);
find("clear-example").addEventListener("click", startEmpty);
find("print").addEventListener("click", () => window.print());
find("ratios").addEventListener("toggle", () => showRatios(find("ratios"), form, answered?.ruleset ?? null));
const forgetReport = watchPasted(form, (warnings, taken) => {
  warned.put(taken ? warnings : [...warned.items.filter((one) => one.about !== null), ...warnings]);
  if (taken) supposed.clear();
  pastedStone = form.read().stone;
  if (taken) beginAnew();
  else ask(0);
});

// Paper has no folds: sources of what stands against the stone, and all notes; afterwards it is as it was.
let folded = [];
window.addEventListener("beforeprint", () => {
  folded = [...document.querySelectorAll("#findings details:not([open]), #quiet:not([open])")];
  for (const one of folded) one.open = true;
});
window.addEventListener("afterprint", () => {
  for (const one of folded) one.open = false;
});
window.addEventListener("hashchange", () => {
  readAddress();
  ask(0);
});

readAddress();
form.markSteps();
ask(0);
