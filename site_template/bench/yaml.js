"use strict";
/* A tree of text (maps, lists, strings) as the YAML that a person would type: digits stay as typed, quotes stand only
   where YAML needs them, short maps go on one line. */

const YAML_WIDTH = 110; // columns of a flow line at most
const FLOW_KEYS = new Set(["measured", "observed", "fits", "part", "size"]);

const quoted = (text) => JSON.stringify(text).replace(/[\u007f-\u009f\u2028\u2029]/g, (letter) =>
  `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`);

function scalar(text, inFlow) {
  const odd = text === "" || text !== text.trim() || /[\u0000-\u001f\u007f-\u009f\u2028\u2029]/.test(text)
    || /^[?:,[\]{}#&*!|>'"%@`<=~]/.test(text) || /^-(\s|$)/.test(text) || /^(---|\.\.\.)/.test(text)
    || /:(\s|$)/.test(text) || /\s#/.test(text) || (inFlow && /[,[\]{}]/.test(text)) || (inFlow && /:$/.test(text));
  return odd ? quoted(text) : text;
}

function flow(value) {
  if (typeof value === "string") return scalar(value, true);
  if (Array.isArray(value)) return `[${value.map(flow).join(", ")}]`;
  return `{${Object.entries(value).map(([key, inner]) => `${scalar(key, true)}: ${flow(inner)}`).join(", ")}}`;
}

function blockLines(value, indent) {
  const pad = " ".repeat(indent);
  const lines = [];
  for (const [key, inner] of Object.entries(value)) lines.push(...entryLines(pad, scalar(key, false), key, inner, indent));
  return lines;
}

function entryLines(pad, shown, key, inner, indent) {
  if (typeof inner === "string") {
    if (/\n/.test(inner) && !/^[ \t\n]|[ \t]$|[ \t]\n|\n\n*$|[\u0000-\u0009\u000b-\u001f]/.test(inner)) {
      return [`${pad}${shown}: |-`, ...inner.split("\n").map((line) => (line ? `${pad}  ${line}` : ""))];
    }
    return [`${pad}${shown}: ${scalar(inner, false)}`];
  }
  const oneLine = `${pad}${shown}: ${flow(inner)}`;
  if (Array.isArray(inner)) {
    if (inner.every((item) => typeof item === "string") && oneLine.length <= YAML_WIDTH) return [oneLine];
    return [`${pad}${shown}:`, ...inner.flatMap((item) => itemLines(item, indent + 2))];
  }
  const short = (FLOW_KEYS.has(key) || indent >= 4 || depth(inner) === 1 && indent >= 2 && key !== "head") && oneLine.length <= YAML_WIDTH;
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
