/** Pasted text cut into what can be asked about: a request, or rows for the service to read. Guesses nothing. */

import { readFreeRow } from "./bench-freerow.js";

const MOST_ROWS = 200;
const LONGEST = 4000; // characters of a row without a header
const COMMA = /(?<!\d),|,(?!\d)/; // one that cannot be a decimal mark

/**
 * `{requests}` as JSON states them, or `{rows, columns?, cut}` for readings, or `{words}` why neither.
 * `known` are the spellings that tell the cells of a row without a header; what no spelling tells is `unread`.
 * `isStone` tells an object in the words of the wire from a supplier's row.
 */
export function cutPasted(text, known, isStone) {
  const whole = text.trim();
  if (whole === "") return { words: "Nothing is pasted yet." };
  if (whole.startsWith("{") || whole.startsWith("[")) {
    try {
      return ofJson(JSON.parse(whole), isStone);
    } catch {
      return { words: "It begins like JSON but is none: a bracket, a quote or a comma is amiss." };
    }
  }
  return ofLines(whole, known);
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

function ofLines(whole, known) {
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
  const told = body.slice(0, MOST_ROWS).map((line) => {
    const text = line.slice(0, LONGEST);
    const parts = delimiter === undefined ? [{ text, place: null }] : cells(text, delimiter).map((cell, index) => ({ text: cell, place: `cell ${index + 1}` }));
    const found = readFreeRow(parts.filter((part) => part.text !== ""), known);
    if (line.length > LONGEST) found.assumed.push(`only the first ${LONGEST} characters of this row were looked at`);
    return found;
  });
  const rows = told.map(({ row }) => row);
  const columns = Object.fromEntries(rows.flatMap((row) => Object.keys(row).map((field) => [field, field])));
  return { rows, columns, assumed: told.map(({ assumed }) => assumed), unread: told.map(({ unread }) => unread), cut };
}
