/** Up to four stones kept beside each other. They live in the page and in its address, nowhere else. */

import { keyMeasures, measureLabel, ruleAddress } from "./bench-answer.js";
import { find, make, post, refill, verdictWord, words } from "./bench-elements.js";
import { besideFigure } from "./bench-figures.js";

const LETTERS = ["A", "B", "C", "D", "E", "F"]; // as many as a comparison takes
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/** Pairs of which the same is said, as one line with the value of each stone. */
function together(differences) {
  const lines = [];
  for (const { between, values, says } of differences) {
    const pair = between.map((place, index) => [place, values[index]]);
    const fits = (line) => line.says === says && pair.every(([place, value]) => (line.values.get(place) ?? value) === value);
    let line = lines.find(fits);
    if (line === undefined) lines.push((line = { says, values: new Map() }));
    for (const [place, value] of pair) line.values.set(place, value);
    line.values = new Map([...line.values].sort(([one], [other]) => one - other));
  }
  return lines;
}

export class Tray {
  /** `acts` has `name(stone)`, `back(item)` and `changed()`. */
  constructor(acts) {
    this.acts = acts;
    this.most = Number(find("tray").dataset.most);
    this.items = [];
    this.around = {};
  }

  say(words) {
    find("tray-said").textContent = words;
  }

  /**
   * Keep a stone; `supposed` are words for what nobody stated of it, `marks` those fields and what was stated,
   * `warned` what was pasted of it and not read.
   */
  keep(stone, supposed, marks, warned) {
    const twin = this.items.find((one) => same(one.stone, stone));
    if (twin) {
      this.say(`This stone is kept already, as ${twin.letter}.`);
      return;
    }
    if (this.items.length >= this.most) {
      this.say(`${this.most} stones are kept, which is all that fit. Take one out first; the form keeps this one.`);
      return;
    }
    const letter = LETTERS.find((one) => this.items.every((item) => item.letter !== one));
    this.items.push({ letter, stone, supposed, marks, warned });
    this.items.sort((one, other) => one.letter.localeCompare(other.letter));
    this.say(`Kept as ${letter}: ${this.acts.name(stone)}.`);
    this.acts.changed();
    this.refresh(this.around);
  }

  remove(item) {
    this.items = this.items.filter((one) => one !== item);
    this.say(`${item.letter} was taken out.`);
    this.acts.changed();
    this.refresh(this.around);
    find("tray-title").focus();
  }

  /** Ask about all of them in the setting of the form: what stands around a stone in a request. */
  async refresh(around) {
    this.around = around;
    find("tray-empty").hidden = this.items.length > 0;
    find("beside").hidden = this.items.length === 0;
    this.controller?.abort();
    if (this.items.length === 0) {
      find("beside").replaceChildren();
      return;
    }
    this.controller = new AbortController();
    const { signal } = this.controller;
    const stones = this.items.map((item) => ({ ...item.stone, id: item.letter }));
    try {
      if (stones.length === 1) {
        const answer = await post("/v1/evaluations", { ...around, stone: stones[0] }, signal);
        const telling = answer.findings.filter((one) => one.verdict === "ask" || one.verdict === "fail");
        this.show({ ...answer, stones: [{ ...answer, telling, prefer_if: [] }], visible: [], on_paper: [], notes: [] });
      } else this.show(await post("/v1/comparisons", { ...around, stones }, signal));
    } catch (trouble) {
      if (trouble.name === "AbortError") return;
      this.around = null; // so that the next judgement asks again
      this.#showTrouble(trouble);
    }
  }

  #showTrouble(trouble) {
    const places = (trouble.problems ?? []).map(({ pointer, found, allowed }) => `${pointer}: found ${found}; allowed: ${allowed}.`);
    refill(find("beside"), [
      make("p", { class: "trouble" }, ["These stones could not be compared.", trouble.message, ...places].join(" ")),
      make("ul", { class: "cards" }, ...this.items.map((item) => this.#card(item, null, [], null))),
    ]);
  }

  /** Cards with what differs, then what an eye sees apart and what only paper shows. */
  show(answer) {
    const key = (finding) => JSON.stringify([finding.rule, finding.verdict, finding.observed]);
    const heard = new Map();
    for (const told of answer.stones)
      for (const finding of told.telling) heard.set(key(finding), (heard.get(key(finding)) ?? 0) + 1);
    const shared = (finding) => answer.stones.length > 1 && heard.get(key(finding)) === answer.stones.length;
    const cards = answer.stones.map((told, place) => {
      const apart = told.telling.filter((finding) => !shared(finding));
      return this.#card(this.items[place], told, apart, answer.ruleset);
    });
    const both = answer.stones[0].telling.filter(shared);
    const differences = (list) =>
      together(list).map(({ says, values }) => {
        const told = [...values].map(([place, value]) => `${this.items[place]?.letter ?? place} ${words(value)}`);
        return make("li", {}, make("strong", {}, told.join(", ")), " ", words(says));
      });
    const list = (title, lines) => (lines.length === 0 ? [] : [make("h3", {}, title), make("ul", { class: "lines" }, ...lines)]);
    refill(find("beside"), [
      make("p", { class: "soft" }, `All in the setting of the form, by ${answer.ruleset.name} ${answer.ruleset.version}.`),
      make("ul", { class: "cards" }, ...cards),
      ...(this.items.length > 1
        ? [besideFigure(this.items.map((item) => [item.letter, item.stone]))]
        : [make("p", { class: "soft" }, "Keep another one to compare.")]),
      ...list("Said of all of them", both.map((finding) => this.#telling(finding, answer.ruleset))),
      ...list("What an eye sees apart", differences(answer.visible)),
      ...list("What only paper shows", differences(answer.on_paper)),
      ...list("About the whole", answer.notes.map((note) => make("li", {}, words(note.says)))),
      make("p", { class: "notice" }, answer.notice),
    ]);
  }

  #telling(finding, ruleset) {
    const told = [finding.topic, finding.observed].filter((part) => part !== null && part !== undefined).join(": ");
    return make("li", {}, verdictWord(finding.verdict), " ", make("a", { href: ruleAddress(ruleset, finding.rule) }, words(told)), " ", words(finding.remedy ?? finding.reason));
  }

  #card(item, told, apart, ruleset) {
    const measures = told === null ? [] : keyMeasures().filter((name) => Object.hasOwn(told.measures, name));
    return make(
      "li",
      { class: "card", "data-letter": item.letter },
      make("h3", {}, make("span", { class: "letter" }, item.letter), " ", this.acts.name(item.stone)),
      told === null ? null : make("p", { class: "head" }, verdictWord(told.verdict)),
      item.supposed.length > 0 ? make("p", { class: "supposed" }, `Supposed, not stated: ${item.supposed.join(", ")}.`) : null,
      ...item.warned.map((one) => make("p", { class: "trouble" }, one.words)),
      make("dl", { class: "measures" }, ...measures.map((name) => make("div", {}, make("dt", {}, measureLabel(name)), make("dd", {}, words(told.measures[name]))))),
      make("ul", { class: "lines" }, ...apart.map((finding) => this.#telling(finding, ruleset))),
      ...(told?.prefer_if.length > 0
        ? [make("p", { class: "soft" }, "Prefer it"), make("ul", { class: "lines" }, ...told.prefer_if.map((one) => make("li", {}, words(one.says))))]
        : []),
      make(
        "p",
        { class: "actions" },
        make("button", { type: "button", "data-hold": `back ${item.letter}`, "aria-label": `Bring ${item.letter} back to the form`, click: () => this.acts.back(item) }, "Back to the form"),
        make("button", { type: "button", "data-hold": `out ${item.letter}`, "aria-label": `Take ${item.letter} out`, click: () => this.remove(item) }, "Take out"),
      ),
    );
  }
}
