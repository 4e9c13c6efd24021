/** The form of one stone: read into a request, filled from one, and told what is wrong with it. */

import { make, words as inWords } from "./bench-elements.js";

// A decimal point or comma; with three digits after a comma nobody can tell, so that goes out as it stands.
const NUMBER = /^-?\d+(?:\.\d*|,(?!\d{3}$)\d*)?$|^[.,]\d+$/;
const TYPED = new Set(["number", "text", "lines"]);

/** The value at a dotted path, from own members alone. */
export function at(request, path) {
  let value = request;
  for (const name of path.split(".")) {
    if (value === null || typeof value !== "object" || !Object.hasOwn(value, name)) return undefined;
    value = value[name];
  }
  return value;
}

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

export class StoneForm {
  /** `changed(path, stepped)` is called after a person changed a field, by typing and choosing or by a step. */
  constructor(element, changed) {
    this.element = element;
    this.fields = new Map();
    for (const field of element.querySelectorAll("[data-path]")) this.fields.set(field.dataset.path, field);
    this.upto = new Map();
    for (const field of element.querySelectorAll("[data-upto]")) this.upto.set(field.dataset.upto, field);
    this.steps = [...element.querySelectorAll("[data-step]")];
    const tell = (event) => {
      const field = event.target.closest("[data-path]");
      const path = field?.dataset.path ?? event.target.dataset.upto;
      if (path === undefined) return;
      this.markSteps();
      changed(path, false);
    };
    element.addEventListener("input", tell);
    element.addEventListener("submit", (event) => event.preventDefault());
    for (const button of this.steps)
      button.addEventListener("click", () => {
        if (this.step(button.dataset.for, Number(button.dataset.step))) changed(button.dataset.for, true);
      });
    this.initial = new Map([...this.fields.keys()].map((path) => [path, this.value(path)]));
  }

  kind(path) {
    return this.fields.get(path)?.dataset.kind;
  }

  /** Whether a change of it comes letter by letter. */
  typed(path) {
    return TYPED.has(this.kind(path));
  }

  label(path) {
    return this.fields.get(path)?.dataset.label ?? path;
  }

  /** Words to send and words to show, where a field has a list of them. */
  options(path) {
    const field = this.fields.get(path);
    if (field?.dataset.kind === "several")
      return [...field.querySelectorAll("input")].map((box) => [box.value, box.parentElement.textContent.trim()]);
    if (field?.localName !== "select") return [];
    return [...field.options].filter((one) => one.value !== "").map((one) => [one.value, one.text]);
  }

  /** A value in words, as the form shows it. */
  say(path, value) {
    if (value === undefined || value === null) return "not stated";
    const shown = new Map(this.options(path));
    return [value].flat().map((one) => shown.get(String(one)) ?? (shown.size > 0 ? inWords(one) : String(one))).join(", ");
  }

  /** What a field holds, as it goes out; undefined if nothing. */
  value(path) {
    const field = this.fields.get(path);
    if (field.dataset.kind === "several") {
      const words = [...field.querySelectorAll("input:checked")].map((box) => box.value);
      return words.length === 0 ? undefined : words;
    }
    const text = field.value.trim();
    if (text === "") return undefined;
    if (field.dataset.kind === "number") return NUMBER.test(text) ? Number(text.replace(",", ".")) : text;
    if (field.dataset.kind === "flag") return text === "true";
    if (field.dataset.kind === "lines") return text.split("\n").map((line) => line.trim()).filter(Boolean);
    const end = this.upto.get(path)?.value;
    return end && end !== text ? `${text}-${end}` : text;
  }

  /** Put a value into a field; false if it cannot hold it. Nothing empties it. */
  put(path, value) {
    const field = this.fields.get(path);
    if (field === undefined) return false;
    const taken = this.#put(field, path, value ?? "");
    this.markSteps();
    return taken;
  }

  #put(field, path, value) {
    if (field.dataset.kind === "several") {
      const words = value === "" ? [] : value;
      if (!Array.isArray(words)) return false;
      const boxes = [...field.querySelectorAll("input")];
      for (const box of boxes) box.checked = words.includes(box.value);
      return words.every((word) => boxes.some((box) => box.value === word));
    }
    if (field.dataset.kind === "lines") {
      if (value !== "" && !(Array.isArray(value) && value.every((line) => typeof line === "string"))) return false;
      field.value = value === "" ? "" : value.join("\n");
      return true;
    }
    if (!["string", "number", "boolean"].includes(typeof value)) return false;
    let text = String(value);
    const end = this.upto.get(path);
    if (end !== undefined) {
      const [first, last] = text.split("-");
      end.value = last ?? "";
      if (end.value === (last ?? "")) text = first;
      else end.value = "";
    }
    if (field.localName === "select" && ![...field.options].some((one) => one.value === text))
      field.append(make("option", { value: text }, text)); // said as it is; the service says what it thinks of it
    field.value = text;
    return field.value === text;
  }

  /** What the form asks, as the contract has it; what is only for drawings stays out. */
  read() {
    const request = { stone: {} };
    for (const path of this.fields.keys()) {
      const value = this.value(path);
      if (value === undefined || path.startsWith("finger.")) continue;
      const names = path.split(".");
      const last = names.pop();
      let place = request;
      for (const name of names) place = place[name] ??= {};
      place[last] = value;
    }
    return request;
  }

  /** All values by their paths. */
  flat() {
    const found = new Map();
    for (const path of this.fields.keys()) {
      const value = this.value(path);
      if (value !== undefined) found.set(path, value);
    }
    return found;
  }

  /** What only the drawings need. */
  fingerOnly() {
    const values = [...this.flat()].filter(([path]) => path.startsWith("finger."));
    return Object.fromEntries(values.map(([path, value]) => [path.slice("finger.".length), value]));
  }

  isExample() {
    return [...this.initial].every(([path, value]) => same(this.value(path), value));
  }

  /** Empty all fields whose path begins so, but for what has no empty choice, and for what stands until it is named. */
  clear(...prefixes) {
    for (const [path, field] of this.fields) {
      if (!prefixes.some((prefix) => path.startsWith(prefix))) continue;
      if ("standing" in field.dataset && !prefixes.includes("") && !prefixes.includes(path)) continue;
      if (field.localName === "select" && ![...field.options].some((one) => one.value === "")) continue;
      this.put(path, null);
    }
  }

  /** Fill from a request; the paths that no field of the form can hold are returned. */
  fill(request) {
    const left = [];
    const walk = (value, path) => {
      if (value === null || left.length >= 20) return;
      if (this.fields.has(path)) {
        if (!this.put(path, value)) left.push(path);
      } else if (typeof value === "object" && !Array.isArray(value)) {
        for (const [name, member] of Object.entries(value)) walk(member, path === "" ? name : `${path}.${name}`);
      } else left.push(path);
    };
    walk(request, "");
    return left;
  }

  /** One grade better or worse; from a range, beyond its end. False where the scale is over. */
  step(path, by) {
    const field = this.fields.get(path);
    const end = this.upto.get(path);
    const grades = [...field.options].map((one) => one.value).filter(Boolean);
    const ranks = [field.value, end?.value ?? ""].filter(Boolean).map((grade) => grades.indexOf(grade));
    if (ranks.length === 0 || ranks.includes(-1)) return false;
    const next = grades[by < 0 ? Math.min(...ranks) - 1 : Math.max(...ranks) + 1];
    if (next === undefined) return false;
    field.value = next;
    if (end) end.value = "";
    this.markSteps();
    return true;
  }

  markSteps() {
    for (const button of this.steps) {
      const field = this.fields.get(button.dataset.for);
      const last = field.selectedIndex + Number(button.dataset.step);
      const over = field.value === "" || last < 1 || last >= field.options.length;
      button.setAttribute("aria-disabled", String(over));
    }
  }

  /** Show problems beside their fields; those about no field of ours are returned in words. */
  showProblems(problems) {
    for (const field of this.fields.values()) {
      const fault = document.getElementById(`${field.id}-fault`);
      field.removeAttribute("aria-invalid");
      fault.replaceChildren();
      fault.hidden = true;
    }
    const elsewhere = [];
    for (const { pointer, found, allowed } of problems) {
      const words = `Found ${inWords(found)}; allowed: ${inWords(allowed)}.`;
      const field = this.#fieldAt(String(pointer));
      if (field === undefined) {
        elsewhere.push(`${pointer}: ${words}`);
        continue;
      }
      field.setAttribute("aria-invalid", "true");
      const fault = document.getElementById(`${field.id}-fault`);
      fault.append(make("span", {}, words));
      fault.hidden = false;
      const fold = field.closest("details");
      if (fold) fold.open = true;
    }
    return elsewhere;
  }

  /** The field that a JSON pointer (RFC 6901) leads to, or into. */
  #fieldAt(pointer) {
    const names = pointer.split("/").slice(1).map((name) => name.replaceAll("~1", "/").replaceAll("~0", "~"));
    while (names.length > 0) {
      const field = this.fields.get(names.join("."));
      if (field) return field;
      names.pop();
    }
    return undefined;
  }
}
