"use strict";
/* What is odd about a number, said at once beside its field; never a reason to stop. */

const IN_MM = { mm: 1, µm: 0.001, um: 0.001, μm: 0.001, in: 25.4, '"': 25.4, thou: 0.0254 };
const FAR = 10; // widths of the new range: beyond, a digit or a point is more likely wrong than the part

/* A plain number in a dimension's unit; null for a range, a bound, words, or a unit that is not known here. */
function numberIn(text, unit) {
  const match = /^([+-]?(?:\d+(?:\.\d+)?|\.\d+))\s*(\S+)?$/.exec(text.trim().replace("\u2212", "-"));
  if (!match) return null;
  const value = Number(match[1]);
  if (!match[2] || match[2] === unit) return value;
  return match[2] in IN_MM && unit in IN_MM ? (value * IN_MM[match[2]]) / IN_MM[unit] : null;
}

function isFar(value, range) {
  const width = Math.max(range[1] - range[0], 1e-6 * Math.abs(range[1]), 1e-9);
  return value < range[0] - FAR * width || value > range[1] + FAR * width;
}

function meant(value, range) {
  const tries = [["a point one place to the left", value / 10], ["a point one place to the right", value * 10],
    ["inches typed for millimetres", value * 25.4], ["millimetres typed for inches", value / 25.4]];
  const [found] = tries.filter(([, other]) => !isFar(other, range));
  return found ? `; ${found[0]} would fit` : "";
}

/* of: limit, new and last of the part; dimension: unit and wears. Sentences, the gravest first. */
function oddities(text, dimension, of, station, samePart) {
  const value = numberIn(text, dimension.unit);
  if (value === null) return [];
  const said = [];
  const last = samePart ? of.last[station] ?? of.last[""] : undefined;
  const [least, most] = of.limit ?? [null, null];
  if (of.new && of.new[0] !== null && isFar(value, of.new)) said.push(`Far outside the new range ${shownRange(of.new, dimension.decimals)}${meant(value, of.new)}.`);
  else if (most !== null && value > most) said.push(`Beyond the limit, ${most.toFixed(dimension.decimals)} at the most.`);
  else if (least !== null && value < least) said.push(`Beyond the limit, ${least.toFixed(dimension.decimals)} at the least.`);
  else if (last?.u && ((most !== null && most - value < 2 * last.u) || (least !== null && value - least < 2 * last.u))) {
    said.push("So near the limit that the gauge cannot tell.");
  }
  if (last?.u && last.value !== null) {
    const moved = value - last.value;
    const against = dimension.wears === "up" ? -moved : dimension.wears === "down" ? moved : 0;
    if (against > 2 * Math.SQRT2 * last.u) said.push(`Less worn than last time, ${last.written}.`);
  }
  return said;
}
