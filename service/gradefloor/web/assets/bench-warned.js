/** What was pasted of a stone and not read, where it must not be passed over: it stands above the verdict. */

import { find, make } from "./bench-elements.js";

const ASKS = {
  "stone.origin": "Natural or laboratory-grown?",
  "stone.treatments": "Was the stone treated, and how?",
  "stone.color": "Is it a fancy color, or of a brown tint?",
};
const MOST = 20;

/** One thing left unread, and what it makes one ask; `about` is the field that it may speak of. */
export const warning = (about, seen, ask = null) => ({
  about,
  words: `Not read, so not in the verdict: ${seen}. ${ask ?? ASKS[about]}`,
});

/** One thing read so far as its word goes. */
export const unsettled = (about, seen, readAs, ask) => ({ about, words: `Not settled: ${seen}, read as ${readAs}. ${ask ?? ASKS[about]}` });

/** Warnings as `{about, words}`; whatever else an address holds is passed over. */
export function warningsOf(items) {
  const known = (one) => typeof one?.words === "string" && (one.about === null || typeof one.about === "string");
  return (Array.isArray(items) ? items : []).filter(known).slice(0, MOST).map(({ about, words }) => ({ about, words }));
}

export class Warned {
  /** `changed()` is called after a person settled one. */
  constructor(changed) {
    this.items = [];
    this.changed = changed;
  }

  put(items) {
    this.items = warningsOf(items);
    this.#show();
  }

  /** A field was stated by a person: what may have told of it is settled, and the stone is no longer the one before. */
  settle(path) {
    this.#keep((one) => one.about !== null && one.about !== path);
  }

  #keep(test) {
    if (this.items.every(test)) return;
    this.items = this.items.filter(test);
    this.#show();
  }

  #show() {
    const line = (one) => {
      const click = () => {
        this.#keep((other) => other !== one);
        this.changed();
        find("findings-title").focus({ preventScroll: true });
      };
      return make("li", {}, one.words, " ", make("button", { type: "button", click }, "It is settled"));
    };
    find("warned").replaceChildren(...this.items.map(line));
    find("warned").hidden = this.items.length === 0;
  }
}
