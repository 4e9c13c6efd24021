/** An evaluation shown: verdict, findings, questions, measures. Words that are not known are shown as they are. */

import { find, make, refill, verdictWord, words } from "./bench-elements.js";

const WORDS = new Map([
  ["pass", ["Pass", "good enough as stated."]],
  ["ask", ["Ask", "something has to be learned first."]],
  ["fail", ["Fail", "below a floor."]],
]);
const QUIET = new Set(["note", "pass"]);
const MOST_BUTTONS = 9;

/** The page of a rule in the rule book. */
export function ruleAddress(ruleset, rule) {
  const [name, version, id] = [ruleset.name, ruleset.version, rule].map((part) => encodeURIComponent(part));
  return `/rules/${name}/${version}#${id}`;
}

/** The verdict in words; none while there is no answer. */
export function showVerdict(verdict) {
  const [word, sense] = verdict === null ? ["No verdict", ""] : (WORDS.get(verdict) ?? [words(verdict), ""]);
  find("verdict").dataset.verdict = verdict ?? "";
  find("said").querySelector(".mark").dataset.verdict = verdict ?? "";
  find("word").textContent = word;
  find("sense").textContent = sense;
}

/** "Had it been VS1", for what a finding's `change` would set; what it would take out nobody supposes. */
export function supposition(form, change) {
  const parts = change.map(({ field, value }) => {
    if (form.kind(field) === "grade") return `it been ${form.say(field, value)}`;
    return `“${form.label(field)}” been ${form.say(field, value).toLowerCase()}`;
  });
  return `Had ${parts.join(" and ")}`;
}

/** `acts` has `suppose(finding)` and `answer(path, value)`, for the buttons. */
export function showAnswer(answer, form, acts) {
  showVerdict(answer.verdict);
  const loud = answer.findings.filter((one) => !QUIET.has(one.verdict));
  const quiet = answer.findings.filter((one) => QUIET.has(one.verdict));
  const show = (finding) => showFinding(finding, answer.ruleset, form, acts);
  refill(find("findings"), loud.length === 0 ? [make("li", { class: "soft" }, "Nothing stands against it.")] : loud.map(show));
  refill(find("quiet-findings"), quiet.map(show));
  const notes = quiet.filter((one) => one.verdict === "note").length;
  find("quiet-count").textContent = `Notes (${notes}), and what passes (${quiet.length - notes})`;
  const asking = find("asked").contains(document.activeElement);
  refill(find("questions"), answer.questions.map((question) => showQuestion(question, form, acts)));
  find("asked").hidden = answer.questions.length === 0;
  if (asking && find("asked").hidden) find("findings-title").focus({ preventScroll: true });
  showMeasures(answer.measures);
  const { name, version } = answer.ruleset;
  find("answered").textContent = `Judged by ${name} ${version} for ${answer.as_of}; service ${answer.service_version}.`;
  find("notice").textContent = answer.notice;
}

/** Take away what was said of other values than those in the form. */
export function showNothing() {
  showVerdict(null);
  for (const id of ["findings", "quiet-findings", "questions"]) find(id).replaceChildren();
  find("quiet-count").textContent = "Notes, and what passes";
  find("asked").hidden = true;
  find("answered").textContent = "";
  showMeasures({});
}

function showFinding(finding, ruleset, form, acts) {
  const told = [finding.topic, finding.observed].filter((part) => part !== null && part !== undefined);
  const change = finding.change ?? [];
  const possible = change.length > 0 && change.every(({ field, value }) => form.fields.has(field) && value !== null);
  const supposing = possible ? `${supposition(form, change)}?` : "";
  const rows = [
    ["Threshold", finding.threshold],
    ["Source", finding.source],
    ["Disagreement among practitioners", finding.disagreement],
  ].filter(([, value]) => value !== null && value !== undefined);
  return make(
    "li",
    { class: "finding" },
    make("p", { class: "head" }, verdictWord(finding.verdict), make("span", { class: "told" }, words(told.join(": ")))),
    make("p", { class: "reason" }, words(finding.reason)),
    finding.remedy ? make("p", { class: "remedy" }, make("span", { class: "soft" }, "Would turn it: "), words(finding.remedy)) : null,
    possible
      ? make("button", { type: "button", class: "suppose", "data-hold": `change ${finding.rule}`, click: () => acts.suppose(finding) }, supposing)
      : null,
    make(
      "details",
      { "data-hold": `why ${finding.rule}` },
      make("summary", {}, "Source and rule"),
      make(
        "dl",
        {},
        ...rows.map(([name, value]) => make("div", {}, make("dt", {}, name), make("dd", {}, words(value)))),
        make("div", {}, make("dt", {}, "Rule"), make("dd", {}, make("a", { href: ruleAddress(ruleset, finding.rule) }, finding.rule))),
      ),
    ),
  );
}

function showQuestion(question, form, acts) {
  const field = form.fields.get(question.about);
  const line = make("li", {}, make("p", {}, words(question.ask)));
  if (field === undefined) {
    line.append(make("p", { class: "soft" }, "To be found out at the stone; no field of this form states it."));
    return line;
  }
  const options = form.kind(question.about) === "several" ? [] : form.options(question.about);
  if (options.length > 0 && options.length <= MOST_BUTTONS) {
    const buttons = options.map(([word, shown]) =>
      make(
        "button",
        { type: "button", "data-hold": `${question.about} ${word}`, click: () => acts.answer(question.about, word) },
        shown,
      ),
    );
    line.append(make("div", { class: "choices", role: "group", "aria-label": form.label(question.about) }, ...buttons));
  } else {
    const reach = () => {
      const fold = field.closest("details");
      if (fold) fold.open = true;
      field.focus();
    };
    line.append(
      make("button", { type: "button", "data-hold": question.about, click: reach }, `Answer it: ${form.label(question.about)}`),
    );
  }
  return line;
}

/** What a measure is called; one that the page does not know goes by its own name. */
export function measureLabel(name) {
  const row = [...find("measures").children].find((one) => one.dataset.measure === name);
  return row?.querySelector("dt").textContent ?? words(name);
}

export const keyMeasures = () =>
  [...find("measures").querySelectorAll("[data-key]")].map((row) => row.dataset.measure);

function showMeasures(measures) {
  const list = find("measures");
  const rows = new Map([...list.children].map((row) => [row.dataset.measure, row]));
  for (const name of Object.keys(measures))
    if (!rows.has(name)) {
      const row = make("div", { "data-measure": name }, make("dt", {}, words(name)), make("dd", {}));
      list.append(row);
      rows.set(name, row);
    }
  for (const [name, row] of rows) {
    row.hidden = !Object.hasOwn(measures, name);
    row.querySelector("dd").textContent = row.hidden ? "" : words(measures[name]);
  }
}
