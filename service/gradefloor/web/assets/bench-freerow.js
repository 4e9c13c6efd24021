/** One row without a header, word by word: what is told by its form or its spelling goes to the service. */

const NUMBER = String.raw`\d+(?:[.,]\d+)?`;
// `3x 1.02` is a word for the finish and a weight.
const SIZE = new RegExp(`(?![38]x\\s)${NUMBER}(?:\\s*[-–]\\s*${NUMBER})?(?:\\s*[x×*]\\s*${NUMBER}){1,2}(?:\\s*mm\\b)?`, "iy");
const DIAMETER = new RegExp(`^${NUMBER}\\s*mm$`, "i");
const WEIGHT = /^\d{0,3}[.,]?\d{1,3}\s*(?:ct|cts|carats?)\.?$/i;
const BARE = /^\d{0,2}[.,]\d{1,3}$/;
const REPORT = /^\d{7,12}$/;
const TAIL = /(?:\s+(?:cut|shaped?|diamond))+$/i;
const LONGEST = 5; // words of a spelling
export const key = (text) => text.toUpperCase().replace(/[^\p{L}\p{N}]/gu, "");

/** What the page knows of words (see bench_words.py), ready to be looked up. */
export function lookUp(words) {
  const spelled = new Map();
  for (const [field, list] of Object.entries(words.fields)) for (const word of list) spelled.set(word, field);
  return {
    spelled,
    letters: new Set(words.letters),
    origins: new Map(Object.entries(words.origins)),
    triple: new Set(words.triple),
    circular: new Set(words.circular),
    fancy: new RegExp(`^(?:${words.fancy})$`),
    fancyWords: new Set(words.fancy_words),
    weighty: Object.entries(words.weighty),
    asked: new Map(Object.entries(words.asked)),
    told: new Map(Object.entries(words.told)),
  };
}

/** The field that a word left unread may speak of, where that must not be passed over; else null. */
export function weightyOf(text, known) {
  const asked = known.asked.get(key(text));
  if (asked !== undefined) return asked;
  const parts = [key(text), ...text.split(/[^\p{L}\p{N}]+/u).map(key)];
  const found = known.weighty.find(([, stems]) => parts.some((part) => stems.some((stem) => part.startsWith(stem))));
  return found?.[0] ?? null;
}

function fieldOf(text, known) {
  SIZE.lastIndex = 0;
  if (SIZE.exec(text)?.[0].length === text.length) return "measurements";
  if (WEIGHT.test(text)) return "carat";
  if (DIAMETER.test(text)) return "diameter";
  const found = known.spelled.get(key(text));
  if (found !== undefined) return found;
  if (known.spelled.get(key(text.replace(TAIL, ""))) === "shape") return "shape";
  const ends = text.split(/\s*[-–/]\s*/); // a range: both ends must be of one scale
  if (ends.length === 2) {
    if (ends.every((end) => known.letters.has(end.toUpperCase()))) return "color";
    const [first, last] = ends.map((end) => known.spelled.get(key(end)));
    if (first !== undefined && first === last && ["clarity", "fluorescence"].includes(first)) return first;
  }
  return known.fancy.test(text.toUpperCase()) && isFancy(text.split(/\s+/), known) ? "color" : null;
}

/** `fancy` alone may speak of a shape; with a hue or a strength it is a color. */
function isFancy(words, known) {
  const rest = words.map(key).filter((word) => word !== "FANCY" && word !== "NATURAL");
  if (rest.length === words.length) return words.length <= 2; // a code
  return rest.length > 0 && rest.every((word) => known.fancyWords.has(word) || word.endsWith("ISH"));
}

/** Words of a text with their fields; several belong together where only all of them are a spelling. */
function tokensOf(text, place, known) {
  const words = [];
  let count = 0;
  for (let index = 0; index < text.length; ) {
    const blank = /\s+/y;
    blank.lastIndex = index;
    index += blank.exec(text)?.[0].length ?? 0;
    if (index >= text.length) break;
    SIZE.lastIndex = index;
    const found = SIZE.exec(text)?.[0] ?? /\S+/.exec(text.slice(index))[0];
    words.push({ text: found, place: place ?? `word ${count + 1}` });
    count += found.split(/\s+/).length;
    index += found.length;
  }
  const tokens = [];
  for (let index = 0; index < words.length; ) {
    const token = longest(words, index, known);
    tokens.push(...(token.field === null ? pieces(token, known) : [token]));
    index += token.length;
  }
  return tokens;
}

function longest(words, index, known) {
  for (let length = Math.min(LONGEST, words.length - index); length > 1; length -= 1) {
    const parts = words.slice(index, index + length).map((word) => word.text);
    if (parts.some((part) => /^\p{L}$/u.test(part))) continue; // a letter stands for itself
    const text = parts.join(" ");
    const field = fieldOf(text, known);
    if (field !== null) return { text, place: words[index].place, field, length };
  }
  return { ...words[index], field: fieldOf(words[index].text, known), length: 1 };
}

/** `G/VS1` is two words. */
function pieces(token, known) {
  const texts = token.text.split("/").filter(Boolean);
  const found = texts.map((text) => ({ ...token, text, field: fieldOf(text, known) }));
  return found.length > 1 && found.some(({ field }) => field !== null) ? found : [token];
}

/** `parts` are `{text, place}`, place null for a line that is no cell. Gives `{row, assumed, unread}`. */
export function readFreeRow(parts, known) {
  const tokens = parts.flatMap(({ text, place }) => {
    const field = fieldOf(text, known);
    return field === null ? tokensOf(text, place, known) : [{ text, place: place ?? "word 1", field }];
  });
  const row = {};
  const assumed = [];
  const put = (field, text) => {
    if (Object.hasOwn(row, field)) return false;
    row[field] = text;
    return true;
  };
  const lists = { origin: [], treatments: [], diameter: [] };
  const unread = [];
  for (let index = 0; index < tokens.length; index += 1) {
    const token = tokens[index];
    const { text, field } = token;
    const run = tokens.slice(index, index + 3);
    if (Object.hasOwn(lists, field)) lists[field].push(token);
    else if (field === "finish" && known.triple.has(key(text)) && !Object.hasOwn(row, "polish"))
      for (const name of ["cut_grade", "polish", "symmetry"]) row[name] = text;
    // Three in a row are cut, polish and symmetry, in this order: common practice, no source.
    else if (field === "finish" && run.length === 3 && run.every((one) => one.field === "finish") && !Object.hasOwn(row, "polish")) {
      ["cut_grade", "polish", "symmetry"].forEach((name, place) => (row[name] = run[place].text));
      if (new Set(run.map((one) => key(one.text))).size > 1)
        assumed.push(`“${run.map((one) => one.text).join(" ")}” is cut, polish and symmetry, in this order`);
      index += 2;
    }
    // F may be fair and G good; the letter before the clarity is the color: common practice, no source.
    else if (field === null && known.letters.has(text.toUpperCase().replace(/[+-]$/, "")) && tokens[index + 1]?.field === "clarity" && put("color", text))
      assumed.push(`“${text}” is the color, because it stands before the clarity`);
    else if (field === null && REPORT.test(text) && tokens[index - 1]?.field === "issuer" && put("report_number", text)) continue;
    // Polish, symmetry and cut share their words: which is which only a header tells.
    else if (field === null || field === "finish" || !put(field, text)) unread.push(token);
    else if (known.told.has(key(text))) assumed.push(`“${text}” is the ${field}, as in most rows`);
  }
  origin(lists, row, unread, known);
  if (lists.treatments.length > 0) row.treatments = lists.treatments.map(({ text }) => text).join("; ");
  diameter(lists.diameter, row, assumed, unread, known);
  const bare = unread.filter(({ text }) => BARE.test(text));
  if (bare.length === 1 && put("carat", bare[0].text)) {
    unread.splice(unread.indexOf(bare[0]), 1);
    assumed.push(`“${bare[0].text}” is the weight, because no other number stands alone`);
  }
  return { row, assumed, unread: unread.map(({ text, place }) => ({ text, place })) };
}

/** Words of the origin that agree; where they do not, none is read, and each is told. */
function origin(lists, row, unread, known) {
  const meant = new Set(lists.origin.map(({ text }) => known.origins.get(key(text))).filter(Boolean));
  const rest = lists.origin.filter(({ text }) => !known.origins.has(key(text))); // how it was grown, or a treatment
  if (meant.size > 1) unread.push(...lists.origin);
  else if (meant.size === 1) {
    row.origin = lists.origin.find((one) => !rest.includes(one)).text;
    lists.treatments.push(...rest);
  } else if (rest.length > 0) row.origin = rest[0].text;
}

/** One number in mm is both diameters of a circular outline; of another it may be the length or the width. */
function diameter(found, row, assumed, unread, known) {
  const [first] = found;
  const circular = known.circular.has(key(String(row.shape ?? "").replace(TAIL, "")));
  if (found.length !== 1 || !circular || Object.hasOwn(row, "measurements")) {
    unread.push(...found);
    return;
  }
  row.length_mm = first.text;
  row.width_mm = first.text;
  assumed.push(`“${first.text}” is the diameter`);
}
