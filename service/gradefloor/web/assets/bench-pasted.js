/** Pasted text cut into what can be asked about: a request, or rows for the service to read. Guesses nothing. */

const MOST_ROWS = 200;
const LONGEST = 4000; // characters of a row without a header
const SIZE = /\d+(?:[.,]\d+)?\s*[x×*]\s*\d+(?:[.,]\d+)?(?:\s*[x×*]\s*\d+(?:[.,]\d+)?)?(?:\s*mm)?/i;
const WEIGHT = /^\d{0,3}[.,]?\d{1,3}\s*(?:ct|cts|carats?)\.?$/i;
const COMMA = /(?<!\d),|,(?!\d)/; // one that cannot be a decimal mark
const BARE = /^\d{0,2}[.,]\d{1,3}$/;
const key = (text) => text.toLowerCase().replace(/[^\p{L}\p{N}+]/gu, "");

/**
 * `{requests}` as JSON states them, or `{rows, columns?, cut}` for readings, or `{words}` why neither.
 * `vocabulary` is the service's own answer: rows without a header are told by its spellings.
 * `isStone` tells an object in the words of the wire from a supplier's row.
 */
export function cutPasted(text, vocabulary, isStone) {
  const whole = text.trim();
  if (whole === "") return { words: "Nothing is pasted yet." };
  if (whole.startsWith("{") || whole.startsWith("[")) {
    try {
      return ofJson(JSON.parse(whole), isStone);
    } catch {
      return { words: "It begins like JSON but is none: a bracket, a quote or a comma is amiss." };
    }
  }
  return ofLines(whole, vocabulary);
}

function ofJson(value, isStone) {
  if (Array.isArray(value?.rows)) return ofObjects(value.rows, () => false, value.columns);
  if (Array.isArray(value?.stones))
    return { requests: value.stones.slice(0, MOST_ROWS).map((stone) => ({ stone, ...(value.context ? { context: value.context } : {}) })) };
  if (Array.isArray(value)) return ofObjects(value, isStone);
  if (value !== null && typeof value === "object" && Object.hasOwn(value, "stone")) return { requests: [value] };
  return ofObjects([value], isStone);
}

/** Objects are requests, or stones in the words of the wire, or else rows of free keys. */
function ofObjects(list, isStone, columns) {
  const objects = list.filter((one) => one !== null && typeof one === "object" && !Array.isArray(one));
  if (objects.length === 0) return { words: "The JSON holds no object, so no stone." };
  if (objects.every((one) => Object.hasOwn(one, "stone"))) return { requests: objects.slice(0, MOST_ROWS) };
  if (objects.every(isStone)) return { requests: objects.slice(0, MOST_ROWS).map((stone) => ({ stone })) };
  return { rows: objects.slice(0, MOST_ROWS), columns, cut: objects.length > MOST_ROWS };
}

/** Cells of delimited lines; quotes as spreadsheets write them. */
function cells(line, delimiter) {
  const found = [""];
  let quoted = false;
  for (let index = 0; index < line.length; index += 1) {
    const letter = line[index];
    const last = found.length - 1;
    if (quoted && letter === '"' && line[index + 1] === '"') {
      found[last] += '"';
      index += 1;
    } else if (letter === '"' && (quoted || found[last].trim() === "")) quoted = !quoted;
    else if (letter === delimiter && !quoted) found.push("");
    else found[last] += letter;
  }
  return found.map((cell) => cell.trim());
}

function ofLines(whole, vocabulary) {
  const lines = whole.split(/\r?\n|\r/).filter((line) => line.trim() !== "");
  const delimiter = ["\t", ";", "|"].find((one) => lines[0].includes(one)) ?? (COMMA.test(lines[0]) ? "," : undefined);
  const header = lines.length > 1 && delimiter !== undefined && !/\d/.test(lines[0]) ? cells(lines[0], delimiter) : null;
  const body = header === null ? lines : lines.slice(1);
  const cut = body.length > MOST_ROWS;
  if (header !== null) {
    const rows = body.slice(0, MOST_ROWS).map((line) => {
      const row = {};
      cells(line, delimiter).forEach((cell, index) => {
        let name = header[index] || `column ${index + 1}`;
        if (Object.hasOwn(row, name)) name = `${name} (${index + 1})`;
        row[name] = cell;
      });
      return row;
    });
    return { rows, cut };
  }
  const columns = {};
  const spelled = spellings(vocabulary);
  const colors = new Set(vocabulary.scales.find((scale) => scale.name === "color")?.grades);
  const told = body.slice(0, MOST_ROWS).map((line) => rowOf(line, delimiter, spelled, colors, columns));
  return { rows: told.map(({ row }) => row), assumed: told.map(({ assumed }) => assumed), columns, cut };
}

/** For each spelling the columns that it can stand in; more than one is ambiguous and left open. */
function spellings(vocabulary) {
  const found = new Map();
  const put = (spelling, field) => {
    const name = key(spelling);
    if (name !== "") found.set(name, (found.get(name) ?? new Set()).add(field));
  };
  for (const shape of vocabulary.shapes) for (const word of [shape.name, shape.title, ...shape.spellings]) put(word, "shape");
  for (const { spelling } of vocabulary.shared_spellings) put(spelling, "shape");
  for (const scale of vocabulary.scales)
    for (const grade of scale.grades) for (const word of [grade, ...(scale.spellings[grade] ?? [])]) put(word, scale.name);
  for (const word of vocabulary.origins) put(word, "origin");
  for (const word of vocabulary.materials) put(word, "material");
  return found;
}

function columnOf(cell, spelled) {
  if (WEIGHT.test(cell)) return "carat";
  const fields = spelled.get(key(cell));
  if (fields?.size === 1) return [...fields][0];
  const ends = cell.split(/[-/–]/); // a range: both ends must be of one scale
  if (ends.length !== 2) return null;
  const [first, last] = ends.map((end) => columnOf(end.trim(), spelled));
  return first !== null && first === last ? first : null;
}

/** One row without a header: measures by their crosses, all else by its spelling; what was assumed is told. */
function rowOf(line, delimiter, spelled, colors, columns) {
  const row = {};
  const assumed = [];
  const put = (field, cell) => {
    if (Object.hasOwn(row, field)) return false;
    row[field] = cell;
    columns[field] = field;
    return true;
  };
  let rest = line.slice(0, LONGEST);
  if (line.length > LONGEST) assumed.push(`only the first ${LONGEST} characters of this row were looked at`);
  const size = delimiter === undefined ? SIZE.exec(rest) : null;
  if (size) {
    put("measurements", size[0]);
    rest = `${rest.slice(0, size.index)} ${rest.slice(size.index + size[0].length)}`;
  }
  const parts = delimiter === undefined ? joined(rest, spelled) : cells(rest, delimiter).filter(Boolean);
  const fieldOf = (part) => (SIZE.exec(part)?.[0].length === part.length ? "measurements" : columnOf(part, spelled));
  const open = [];
  parts.forEach((part, index) => {
    const field = fieldOf(part);
    const next = parts[index + 1];
    // F may be fair and G good; the letter before the clarity is the color: common practice, no source.
    if (field === null && colors.has(part) && next !== undefined && fieldOf(next) === "clarity" && put("color", part))
      assumed.push(`“${part}” is the color, because it stands before the clarity`);
    // Polish, symmetry and cut share their words: which is which only a header tells.
    else if (field === null || field === "finish" || !put(field, part)) open.push(part);
  });
  const bare = open.filter((part) => BARE.test(part));
  if (!Object.hasOwn(row, "carat") && bare.length === 1) {
    put("carat", bare[0]);
    open.splice(open.indexOf(bare[0]), 1);
    assumed.push(`“${bare[0]}” is the weight, because no other number stands alone`);
  }
  open.forEach((part, index) => {
    row[`cell ${index + 1}`] = part;
  });
  return { row, assumed };
}

/** Words of a line without delimiters; two belong together where only the pair is a spelling. */
function joined(text, spelled) {
  const words = text.split(/\s+/).filter(Boolean);
  const found = [];
  for (let index = 0; index < words.length; index += 1) {
    const pair = index + 1 < words.length ? `${words[index]} ${words[index + 1]}` : null;
    if (pair !== null && (spelled.has(key(pair)) || WEIGHT.test(pair))) {
      found.push(pair);
      index += 1;
    } else found.push(words[index]);
  }
  return found;
}
