/** Drawings of the stone, each in a box of fixed size; where a measure is missing the box says which. */

import { make } from "./bench-elements.js";

const NUMBERS = { "stone.length_mm": "length", "stone.width_mm": "width", "stone.depth_mm": "depth" };
const number = (flat, path) => (typeof flat.get(path) === "number" ? flat.get(path) : undefined);

/** Show a drawing, or the words why there is none. */
function draw(figure, address, alt, missing) {
  const image = figure.querySelector("img");
  const words = figure.querySelector(".box p");
  if (address !== null && image.getAttribute("src") === address) {
    image.alt = alt;
    return; // it is there, or these numbers could not be drawn, which the words still say
  }
  words.textContent = missing;
  const larger = figure.querySelector("a");
  if (larger) larger.hidden = address === null;
  if (address === null) {
    image.hidden = true;
    image.removeAttribute("src");
    image.alt = "";
    return;
  }
  image.alt = alt;
  image.hidden = true; // no other picture may stand above these words meanwhile
  image.onload = () => {
    image.hidden = false;
    words.textContent = "";
  };
  image.onerror = () => {
    image.hidden = true;
    words.textContent = "The service gave no drawing for these numbers.";
  };
  image.setAttribute("src", address);
  larger?.setAttribute("href", address);
}

function query(flat, names) {
  const parameters = new URLSearchParams();
  for (const [name, path] of Object.entries(names)) {
    const value = flat.get(path);
    if (value !== undefined) parameters.set(name, String(value));
  }
  return parameters;
}

const lacking = (flat, paths) => paths.filter((path) => number(flat, path) === undefined).map((path) => NUMBERS[path]);
const needs = (names) => `Not drawn: ${names.join(" and ")} ${names.length > 1 ? "are" : "is"} missing.`;

/** The stone of the form from above (on a finger, where its size is stated) and from the side. */
export function showFigures(place, form) {
  const flat = form.flat();
  const shape = form.say("stone.shape", flat.get("stone.shape"));
  const above = place.querySelector("[data-figure=finger]");
  const open = lacking(flat, ["stone.length_mm", "stone.width_mm"]);
  if (!flat.has("stone.shape")) open.unshift("shape");
  const size = `${flat.get("stone.length_mm")} × ${flat.get("stone.width_mm")} mm`;
  const outline = {
    shape: "stone.shape", length_mm: "stone.length_mm", width_mm: "stone.width_mm", corner_mm: "stone.corner_mm",
  };
  const finger = { size: "finger.size", system: "finger.system", orientation: "finger.orientation" };
  const worn = flat.has("finger.size") && flat.has("finger.system");
  const system = form.say("finger.system", flat.get("finger.system"));
  const on = worn ? ` on a finger of size ${flat.get("finger.size")} (${system})` : "";
  above.querySelector("figcaption span").textContent = worn ? `From above${on}` : "From above; with a finger size, on the finger";
  const address = worn
    ? `/v1/drawings/finger.svg?${query(flat, { ...outline, ...finger })}`
    : `/v1/drawings/stone.svg?${query(flat, outline)}`;
  draw(above, open.length > 0 ? null : address, `${shape}, ${size}, from above${on}, to scale`, open.length > 0 ? needs(open) : "");
  showSide(place.querySelector("[data-figure=side]"), flat, shape, open);
}

function showSide(figure, flat, shape, open) {
  const missing = [...open];
  if (number(flat, "stone.depth_mm") === undefined && number(flat, "stone.depth_pct") === undefined) missing.push("depth");
  const names = {};
  for (const name of ["shape", "length_mm", "width_mm", "table_pct", "crown_height_pct", "girdle_pct", "culet"])
    names[name] = `stone.${name}`;
  const depth = number(flat, "stone.depth_mm") === undefined ? "depth_pct" : "depth_mm";
  names[depth] = `stone.${depth}`;
  const address = missing.length > 0 ? null : `/v1/drawings/side.svg?${query(flat, names)}`;
  const deep = `${flat.get(`stone.${depth}`)} ${depth === "depth_mm" ? "mm" : "%"}`;
  draw(figure, address, `${shape} from the side, ${deep} deep, to scale`, missing.length > 0 ? needs(missing) : "");
}

/** Looks of one shape by its ratio, while somebody wants to see them. */
export function showRatios(fold, form, ruleset) {
  const shape = form.value("stone.shape");
  const figure = fold.querySelector("[data-figure=ratios]");
  if (shape === undefined || ruleset === null) {
    draw(figure, null, "", shape === undefined ? "Not drawn: shape is missing." : "Not drawn: there is no verdict.");
    return;
  }
  if (!fold.open) return;
  const rules = new URLSearchParams({ ruleset: `${ruleset.name}@${ruleset.version}` });
  const words = form.say("stone.shape", shape);
  draw(figure, `/v1/drawings/ratios/${encodeURIComponent(shape)}.svg?${rules}`, `${words} at the ratios that the rules name`, "");
}

/** A figure of several stones at one scale; `stones` are `[letter, stone]`. */
export function besideFigure(stones) {
  const drawn = stones.filter(([, stone]) => typeof stone.length_mm === "number" && typeof stone.width_mm === "number");
  const left = stones.filter((one) => !drawn.includes(one)).map(([letter]) => letter);
  const words = left.length > 0 ? `Not drawn, length or width is missing: ${left.join(", ")}.` : "";
  const figure = make(
    "figure",
    { "data-figure": "beside" },
    make("div", { class: "box" }, make("img", { alt: "", hidden: true }), make("p", { class: "soft" })),
    make("figcaption", {}, ["At one scale", drawn.map(([letter]) => letter).join(", "), words].filter(Boolean).join(". ")),
  );
  const list = (name) => drawn.map(([, stone]) => String(stone[name])).join(",");
  const parameters = new URLSearchParams({ shapes: list("shape"), lengths_mm: list("length_mm"), widths_mm: list("width_mm") });
  const enough = drawn.length > 1;
  const alt = `Stones ${drawn.map(([letter]) => letter).join(", ")} beside each other at one scale`;
  draw(figure, enough ? `/v1/drawings/stones.svg?${parameters}` : null, alt, enough ? "" : "Fewer than two have length and width.");
  return figure;
}
