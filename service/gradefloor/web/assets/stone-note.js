/**
 * <stone-note>: labels and plain sentences on a stone, within a shop's page.
 *
 *   <script type="module" src="https://service.example/embed/stone-note.js"></script>
 *   <stone-note data-market="UK" data-shape="oval" data-carat="1.20" data-length-mm="8.00" data-width-mm="5.80">
 *     What the page says of the stone by itself: shown until there is an answer, and if there is none.
 *   </stone-note>
 *
 * Room is kept from the first paint if the page's own style sheet says what `:host` says below:
 *
 *   stone-note:not(:defined) { display: block; overflow: auto; block-size: var(--stone-note-block-size, 15rem) }
 *
 * A stone is asked for once, when it comes near the window, by an address that caches may keep. The page's
 * cookies, address and other attributes stay where they are. Whatever goes wrong, the page's words stand.
 */

const ADDRESS = new URL("../v1/annotations", import.meta.url);
const LOOPBACK = /^(localhost|127(\.\d+){3}|\[::1\])$/;
const TRUSTED = ADDRESS.protocol === "https:" || (ADDRESS.protocol === "http:" && LOOPBACK.test(ADDRESS.hostname));
const TIMEOUT_MS = 4000;
const AT_ONCE = 6;
const KEPT = 200; // answers that a page remembers; one that stays open all day must not grow

// All that ever leaves the page, in the order of the address. No reference of the page's own is among it.
const FIELDS = [
  "as_of", "carat", "clarity", "color", "corner_mm", "crown_height_pct", "culet", "cut_grade", "depth_mm",
  "depth_pct", "eye_clean", "fluorescence", "girdle_max", "girdle_min", "girdle_pct", "jewelry", "language",
  "length_mm", "market", "material", "metal", "origin", "polish", "position", "protection", "ruleset", "shape",
  "symmetry", "table_pct", "wear", "width_mm", "wording_ruleset",
];
const attributeOf = (field) => `data-${field.replaceAll("_", "-")}`;
// Words, grades, numbers, days and `name@version`; a sentence or a mail address is none of them.
const VALUE = /^[\w.-]{1,40}(@[\d.]{1,32})?$/;

// A tone is told by a mark to the eye and by a word to the ear; its color only repeats it. A plain label says all.
const MARKS = { plain: "", good: "+", watch: "!", ask: "?" };
const WORDS = {
  en: {
    note: "Note on this stone", labels: "Labels of this stone", more: "More on this stone", mind: "To keep in mind",
    good: "Good: ", watch: "Worth a look: ", ask: "To be asked: ",
  },
  fr: {
    note: "Note sur cette pierre", labels: "Mentions de cette pierre", more: "En savoir plus sur cette pierre",
    mind: "À garder en tête", good: "Bien\u00a0: ", watch: "À regarder\u00a0: ", ask: "À demander\u00a0: ",
  },
};

// `light-dark` follows the page's `color-scheme`, and so prefers-color-scheme wherever the page does. A browser
// without it shows labels in the page's own colors.
const STYLE = new CSSStyleSheet();
STYLE.replaceSync(`
  :host { display: block }
  :host([hidden]) { display: none }
  .room { overflow: auto; block-size: var(--stone-note-block-size, 15rem) }
  .room:has(details[open]) { block-size: auto; min-block-size: var(--stone-note-block-size, 15rem) }
  .note { display: flow-root; overflow-wrap: anywhere; line-height: 1.5 }
  ul.labels { display: flex; flex-wrap: wrap; gap: .375rem; margin: 0 0 .625rem; padding: 0; list-style: none }
  .labels li {
    position: relative; display: inline-flex; gap: .45em; padding: .1em .6em; font-size: .8125em;
    border: 1px solid color-mix(in srgb, currentColor 30%, transparent); border-radius: 3px;
  }
  .plain { color: light-dark(#3c4147, #d9dcdf); background: light-dark(#f3f3f1, #2a2e32) }
  .good { color: light-dark(#1c4a37, #b9e2cc); background: light-dark(#edf3ef, #1a3328) }
  .watch { color: light-dark(#66430f, #f1d5a4); background: light-dark(#f8f1e3, #3d2d12) }
  .ask { color: light-dark(#403c74, #d0cef6); background: light-dark(#f0eff6, #2b2a4c) }
  .mark { font-weight: 700 }
  .unseen { position: absolute; inline-size: 1px; block-size: 1px; overflow: hidden; clip-path: inset(50%) }
  p { margin: 0 0 .5rem }
  .notice { font-size: .8125em }
  summary { display: inline-block; padding: .125rem 0; font-size: .875em; cursor: pointer }
  summary { text-decoration: underline; text-decoration-thickness: 1px; text-underline-offset: .2em }
  summary::after { content: " +" / ""; display: inline-block; text-decoration: none; white-space: pre }
  [open] > summary::after { content: " \u2212" / "" }
  details { margin-block-end: .5rem }
  .more { padding-block-start: .375rem }
  .mind { margin-block-end: .25rem; font-weight: 600 }
  .cautions { margin: 0 0 .5rem; padding-inline-start: 1.2em }
  :focus-visible { outline: 2px solid; outline-offset: -2px }
  @media (prefers-reduced-motion: no-preference) {
    .note { animation: appear .2s ease-out }
    @keyframes appear { from { opacity: 0 } }
  }
`);

/** An element; strings among its children become text, never mark-up. */
function make(tag, properties, ...children) {
  const made = Object.assign(document.createElement(tag), properties);
  made.append(...children);
  return made;
}

const isText = (value) => typeof value === "string" && value.trim() !== "";

/** What is shown of an answer, or null if it is not what was agreed on. */
function read(answer, language) {
  const { labels, short, long, cautions, notice } = answer?.results?.[0] ?? {};
  const agreed =
    [short, long, notice].every(isText) &&
    Array.isArray(cautions) && cautions.every(isText) &&
    Array.isArray(labels) &&
    labels.every((label) => isText(label?.text) && isText(label.tone) && Object.hasOwn(MARKS, label.tone));
  return agreed ? { language, labels, short, long, cautions, notice } : null;
}

function written({ language, labels, short, long, cautions, notice }) {
  const words = WORDS[language] ?? WORDS.en;
  const label = ({ text, tone }) =>
    make("li", { className: tone }, ...(MARKS[tone] === "" ? [] : [
      make("span", { className: "mark", ariaHidden: "true" }, MARKS[tone]),
      make("span", { className: "unseen" }, words[tone]),
    ]), text);
  const more = make("div", { className: "more" }, make("p", {}, long));
  if (cautions.length > 0)
    more.append(
      make("p", { className: "mind" }, words.mind),
      make("ul", { className: "cautions" }, ...cautions.map((caution) => make("li", {}, caution))));
  const note = make("div", { className: "note" });
  if (labels.length > 0)
    note.append(make("ul", { className: "labels", role: "list", ariaLabel: words.labels }, ...labels.map(label)));
  note.append(
    make("p", { className: "short" }, short),
    make("details", {}, make("summary", {}, words.more), more),
    make("p", { className: "notice" }, notice));
  return note;
}

let running = 0;
const waiting = [];

/** Work done in its turn, so that few requests run at once. */
async function inTurn(work) {
  if (running < AT_ONCE) running += 1;
  else await new Promise((go) => waiting.push(go));
  try {
    return await work();
  } finally {
    if (waiting.length > 0) waiting.shift()();
    else running -= 1;
  }
}

/** The note at an address, or null for whatever reason. Never throws. */
async function fetched(address, abort) {
  const timer = setTimeout(() => abort.abort(), TIMEOUT_MS);
  try {
    const response = await fetch(address, {
      credentials: "omit", redirect: "error", referrerPolicy: "no-referrer", signal: abort.signal,
    });
    const type = response.headers.get("content-type") ?? "";
    if (response.status !== 200 || !/^application\/json\s*(;|$)/i.test(type)) return null;
    const said = response.headers.get("content-language") ?? new URL(address).searchParams.get("language");
    return read(await response.json(), /^[a-z]{2}/.exec(said ?? "")?.[0] ?? "en");
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
}

const asked = new Map(); // by address: the promise of a note, how many wait for it, and how to give up

function ask(address) {
  let request = asked.get(address);
  if (request === undefined) {
    const abort = new AbortController();
    request = { abort, users: 0, note: inTurn(() => fetched(address, abort)) };
    request.note.then((note) => note ?? forget(address, request)); // so that a later element tries again
    if (asked.size >= KEPT) asked.delete(asked.keys().next().value);
    asked.set(address, request);
  }
  request.users += 1;
  return request;
}

function forget(address, request) {
  if (asked.get(address) === request) asked.delete(address);
}

/** One waits no longer; where nobody does, the request ends. */
function leave(address, request) {
  request.users -= 1;
  if (request.users > 0) return;
  request.abort.abort();
  forget(address, request);
}

class StoneNote extends HTMLElement {
  static observedAttributes = FIELDS.map(attributeOf);
  static #nearby = new IntersectionObserver(
    (entries) => {
      for (const { isIntersecting, target } of entries) if (isIntersecting) target.#comeNear();
    },
    { rootMargin: "300px" },
  );

  #room = make("div", { className: "room", role: "group" });
  #content = make("div", {});
  #ownWords = make("slot", {});
  #near = false;
  #due = false;
  #address = null; // of what is shown or under way
  #request = null; // under way

  constructor() {
    super();
    const root = this.attachShadow({ mode: "open" });
    root.adoptedStyleSheets = [STYLE];
    root.append(this.#room);
    this.#room.append(this.#content);
    this.#show(null);
    const sizes = new ResizeObserver(() => this.#reachable());
    sizes.observe(this.#room);
    sizes.observe(this.#content);
  }

  connectedCallback() {
    StoneNote.#nearby.observe(this);
  }

  disconnectedCallback() {
    StoneNote.#nearby.unobserve(this);
    this.#near = false;
    if (this.#request !== null) this.#giveUp();
  }

  attributeChangedCallback() {
    if (this.#due) return;
    this.#due = true;
    queueMicrotask(() => {
      this.#due = false;
      this.#update();
    });
  }

  #comeNear() {
    StoneNote.#nearby.unobserve(this);
    this.#near = true;
    this.#update();
  }

  /** Where the note is; null if it cannot be asked for. */
  #whereToAsk() {
    const stated = FIELDS.map((field) => [field, this.getAttribute(attributeOf(field))?.trim() ?? ""]);
    // What fits is not shown, and would be most of the service's work.
    const query = new URLSearchParams([["fits", "false"], ...stated.filter(([, value]) => value !== "")]);
    const askable = TRUSTED && query.has("shape") && query.has("market");
    return askable && [...query.values()].every((value) => VALUE.test(value)) ? `${ADDRESS}?${query}` : null;
  }

  async #update() {
    const address = this.#whereToAsk();
    if (address === this.#address) return;
    this.#giveUp();
    if (address === null || !this.#near) return;
    this.#address = address;
    const request = ask(address);
    this.#request = request;
    this.#room.ariaBusy = "true";
    const note = await request.note;
    if (this.#request !== request) return;
    this.#request = null;
    this.#show(note);
  }

  /** Back to the page's own words: what was shown or asked for is not about this stone any longer. */
  #giveUp() {
    if (this.#request !== null) leave(this.#address, this.#request);
    if (this.#address !== null) this.#show(null);
    this.#request = this.#address = null;
  }

  #show(note) {
    const language = note?.language ?? this.dataset.language;
    this.#room.ariaBusy = null;
    this.#room.ariaLabel = (WORDS[language] ?? WORDS.en).note;
    if (note === null) this.#room.removeAttribute("lang");
    else this.#room.lang = language;
    this.#content.replaceChildren(note === null ? this.#ownWords : written(note));
  }

  /** A room too small for its content can be scrolled by keyboard; one that is not is no stop on the way. */
  #reachable() {
    if (this.#room.scrollHeight > this.#room.clientHeight) this.#room.tabIndex = 0;
    else this.#room.removeAttribute("tabindex");
  }
}

if (!customElements.get("stone-note")) customElements.define("stone-note", StoneNote);
