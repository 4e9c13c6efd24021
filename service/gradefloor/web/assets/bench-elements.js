/** Elements of the bench. Whatever was sent or typed is written as text, never read as mark-up. */

/** An element with its attributes; a function listens, `false` and nothing leave an attribute out. */
export function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (typeof value === "function") element.addEventListener(key, value);
    else element.setAttribute(key, value === true ? "" : String(value));
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

export const find = (id) => document.getElementById(id);

/** Words of the wire as people write them: `out_of_round` is "out of round". */
export const words = (text) => String(text).replaceAll(/(?<=[\p{Ll}\d])_(?=[\p{Ll}\d])/gu, " ");

/** The mark of a verdict: its form tells it, its color only repeats it. Unknown words get a dash. */
export const mark = (verdict) => make("span", { class: "mark", "data-verdict": verdict, "aria-hidden": "true" });

/** A verdict as a word beside its mark. */
export const verdictWord = (verdict) => make("span", { class: "verdict-word" }, mark(verdict), words(verdict));

/** Fill an element anew, with the keyboard and opened details where they were. */
export function refill(element, children) {
  const held = element.contains(document.activeElement) ? document.activeElement.closest("[data-hold]") : null;
  const opened = new Set([...element.querySelectorAll("details[open][data-hold]")].map((one) => one.dataset.hold));
  element.replaceChildren(...children);
  for (const one of element.querySelectorAll("details[data-hold]")) one.open = opened.has(one.dataset.hold);
  if (held === null) return;
  const again = [...element.querySelectorAll("[data-hold]")].find((one) => one.dataset.hold === held.dataset.hold);
  const place = again ?? element.closest("section")?.querySelector("[tabindex='-1']");
  const inside = again?.matches("details") ? again.querySelector("summary") : place;
  inside?.focus({ preventScroll: true });
}

/** Something that went wrong, in words that a person can use; `problems` has the places, if any. */
export class Trouble extends Error {
  constructor(words, problems = []) {
    super(words);
    this.problems = problems;
  }
}

/** The service's answer; a Trouble if there is none. */
export async function post(path, body, signal) {
  let response;
  try {
    response = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
      credentials: "omit",
      signal,
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Trouble("The service does not answer. What you entered is still here.");
  }
  let answer = null;
  try {
    answer = await response.json();
  } catch (error) {
    if (error.name === "AbortError") throw error;
  }
  if (response.ok && answer !== null) return answer;
  if (response.status === 422 && Array.isArray(answer?.errors))
    throw new Trouble("Something in the form cannot be read; see the fields that are marked.", answer.errors);
  const told = [answer?.title, answer?.detail].filter((text) => typeof text === "string").join(" ");
  const refused = response.status === 401 || response.status === 403 ? "The service does not answer this" : "The service cannot answer now";
  throw new Trouble(`${refused} (${response.status}). ${told} What you entered is still here.`);
}
