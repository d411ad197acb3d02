"use strict";
/* A tree of text (maps, lists, strings) as the YAML that a person would type: digits stay as typed, quotes stand only
   where YAML needs them, short maps go on one line. */

const YAML_WIDTH = 110; // columns of a flow line at most
const FLOW_KEYS = new Set(["measured", "observed", "fits", "part", "size"]);

// What may stand in a file as it is, by YAML 1.1 and 1.2 alike; 1.1 takes U+0085, U+2028 and U+2029 for ends of lines.
const UNSAFE = /[^\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\u{10000}-\u{10ffff}]/u;
const HALF_LETTERS = /\p{Surrogate}/gu; // half a letter, left by a broken paste: no text file can hold it

const quoted = (text) => JSON.stringify(text.replace(HALF_LETTERS, "\ufffd")).replace(new RegExp(UNSAFE, "gu"), (letter) =>
  `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`);

function scalar(text, inFlow) {
  const odd = text === "" || text !== text.trim() || UNSAFE.test(text) || /^[?:,[\]{}#&*!|>'"%@`<=~]/.test(text)
    || /^-(\s|$)/.test(text) || /^(---|\.\.\.)/.test(text) || /:(\s|$)/.test(text) || /\s#/.test(text)
    || (inFlow && /[,[\]{}]|:\?/.test(text));
  return odd ? quoted(text) : text;
}

function flow(value) {
  if (typeof value === "string") return scalar(value, true);
  if (Array.isArray(value)) return `[${value.map(flow).join(", ")}]`;
  return `{${Object.entries(value).map(([key, inner]) => `${scalar(key, true)}: ${flow(inner)}`).join(", ")}}`;
}

function blockLines(value, indent) {
  const pad = " ".repeat(indent);
  return Object.entries(value).flatMap(([key, inner]) => entryLines(pad, scalar(key, false), key, inner, indent));
}

function entryLines(pad, shown, key, inner, indent) {
  if (typeof inner === "string") {
    const lines = inner.split("\n");
    const plain = lines.length > 1 && lines[0] && lines.at(-1) && !/^\s/.test(inner) && !lines.some((line) => UNSAFE.test(line) || /\s$/.test(line));
    if (plain) return [`${pad}${shown}: |-`, ...lines.map((line) => (line ? `${pad}  ${line}` : ""))];
    return [`${pad}${shown}: ${scalar(inner, false)}`];
  }
  const oneLine = `${pad}${shown}: ${flow(inner)}`;
  if (Array.isArray(inner)) {
    if (inner.every((item) => typeof item === "string") && oneLine.length <= YAML_WIDTH) return [oneLine];
    return [`${pad}${shown}:`, ...inner.flatMap((item) => itemLines(item, indent + 2))];
  }
  const short = (FLOW_KEYS.has(key) || indent >= 4 || depth(inner) === 1 && indent >= 2) && oneLine.length <= YAML_WIDTH;
  return short ? [oneLine] : [`${pad}${shown}:`, ...blockLines(inner, indent + 2)];
}

function itemLines(item, indent) {
  const pad = " ".repeat(indent);
  const oneLine = `${pad}- ${flow(item)}`;
  if (typeof item === "string" || Array.isArray(item) || oneLine.length <= YAML_WIDTH + 60) return [oneLine];
  const [first, ...rest] = blockLines(item, indent + 2);
  return [`${pad}- ${first.trimStart()}`, ...rest];
}

const depth = (value) => (typeof value === "string" ? 0 : 1 + Math.max(0, ...Object.values(value).map(depth)));

const toYaml = (tree) => `${blockLines(tree, 0).join("\n")}\n`;
