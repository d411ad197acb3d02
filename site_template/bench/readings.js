"use strict";
/* What is odd about a reading, said at once beside its field; never a reason to stop. What may be typed and what a unit
   is worth comes with the form, from the reader of the records itself. */

const READING = new RegExp(FORM.reading, "u"); // an amount, a range, a bound, or `not measurable`
const AMOUNT = new RegExp(FORM.amount, "u"); // a number with or without its unit
const MANY = 10; // times the new range or the usual change: beyond, a digit or a point is more likely wrong than the part
const HALF_READ = "Read every face, or leave all of them blank."; // a list of readings has no gap
const TIMES_LAST = 5; // the last reading, where nothing else is known

const unitsIn = (text) => text.trim().replace(/^(under|over|[<>])/i, "").split("..").map((part) => part.replace(/^\s*[+\-\u2212]?[\d.]+\s*/, "").trim()).filter(Boolean);
const measures = (unit) => FORM.units[unit]?.[0];

/* Why a text cannot be read, or null. `alone`: a number is wanted and no range; `example` shows how one is written. */
function unread(text, unit, { alone = false, example = "60.061" } = {}) {
  if (!(alone ? AMOUNT : READING).test(text)) {
    if (alone && READING.test(text)) return "A range, a bound or words stand alone, not among repeated readings.";
    return `Cannot be read: ${text}. Write a number as ${example}${alone ? "" : ", a range as 0.05..0.08, under 0.05, or not measurable"}.`;
  }
  const other = unit in FORM.units ? unitsIn(/measurable/i.test(text) ? "" : text).find((one) => measures(one) !== measures(unit)) : null;
  return other ? `${other} does not measure what ${unit} does.` : null;
}

/* Every figure of a sheet: its screen, what it is, what was typed, its unit, and whether a number alone is wanted. */
const figuresOf = ({ sheet }) => [
  ["head", "Counter", sheet.counter, "h", true],
  ["head", "Temperature", sheet.temperature, "°C", true],
  ...FORM.positions.flatMap(({ id, name, dimensions }) => dimensions.map((one) => [`p/${id}`, `${name}, ${one.name}`, sheet.positions?.[id]?.measured?.[one.id], one.unit])),
  ...FORM.fits.map(({ id, name, unit }) => ["fits", name, sheet.fits?.[id], unit]),
  ...FORM.tests.flatMap(({ id, name, head, rows }) => [
    ...head.map((one) => ["tests", `${name}, ${one.name}`, sheet.tests?.[id]?.[one.id], one.unit, true]),
    ...rows.map((row) => ["tests", `${name}, ${row.name}`, sheet.tests?.[id]?.[row.id], null, row.chambers > 1]),
  ]),
];

const textsIn = (value) => (value && typeof value === "object" ? Object.values(value).flatMap(textsIn) : value ? [value] : []);

/* What of them cannot be read: its screen, what it is, and why. */
const unreadIn = (draft) => figuresOf(draft).flatMap(([screen, name, value, unit, alone]) => [
  ...textsIn(value).map((text) => unread(text, unit, { alone: alone || Array.isArray(value) })), screen === "tests" && value?.constructor === Object && HALF_READ,
].filter(Boolean).map((why) => ({ screen, name, why })));

/* A plain number in a unit; null for a range, a bound, words, or a unit of something else. */
function numberIn(text, unit) {
  if (!AMOUNT.test(text)) return null;
  const value = Number(/[+\-\u2212]?[\d.]+/.exec(text)[0].replace("\u2212", "-"));
  const [written = unit] = unitsIn(text);
  if (written === unit) return value;
  const [from, to] = [FORM.units[written], FORM.units[unit]];
  return from && to && from[0] === to[0] ? ((value + from[2]) * from[1]) / to[1] - to[2] : null;
}

/* How far outside its new range a reading may lie: on the side of wear, by five times the way to the limit. */
function isFar(value, of, wears) {
  const [low, high] = of.new;
  const way = Math.max(0, ...(of.limit ?? []).filter((end) => end !== null).map((end) => Math.max(low - end, end - high))) / 2;
  const wide = Math.max(MANY * Math.max(high - low, way), 1e-9);
  const narrow = high > low ? MANY * (high - low) : wide;
  return value < low - (wears === "up" ? narrow : wide) || value > high + (wears === "down" ? narrow : wide);
}

const isFarFromLast = (value, last, usual) => {
  const moved = Math.abs(value - last.value);
  if (usual) return moved > MANY * usual + 2 * Math.SQRT2 * (last.u ?? 0);
  return value > 0 && last.value > 0 && Math.max(value / last.value, last.value / value) > TIMES_LAST;
};

/* The slip that would make a reading fit, in words. */
function meant(value, unit, fits) {
  const tries = [[0.1, "a point one place to the left"], [10, "a point one place to the right"]];
  if (measures(unit) === "length") {
    tries.push([25.4, "inches typed for millimetres"], [1 / 25.4, "millimetres typed for inches"],
      [0.001, "micrometres typed for millimetres"], [1000, "millimetres typed for micrometres"]);
  }
  const found = tries.find(([factor]) => fits(value * factor));
  return found ? `; ${found[1]} would fit` : "";
}

/* of: limit, new and last of the part; dimension: unit, wears, and the usual change. Sentences, the gravest first. */
function oddities(text, dimension, of, station, samePart) {
  const value = numberIn(text, dimension.unit);
  if (value === null) return [];
  const said = [];
  const shown = (number) => number.toFixed(dimension.decimals);
  const last = samePart ? of.last[station] ?? of.last[""] : undefined;
  const known = last && last.value !== null;
  const [least, most] = of.limit ?? [null, null];
  if (of.new && of.new[0] !== null) {
    if (isFar(value, of, dimension.wears)) said.push(`Far outside the new range ${shownRange(of.new, dimension.decimals)}${meant(value, dimension.unit, (other) => !isFar(other, of, dimension.wears))}.`);
  } else if (known && isFarFromLast(value, last, dimension.usual)) {
    const near = (other) => Math.abs(other - last.value) <= Math.max(Math.abs(last.value) * 0.05, 2 * (dimension.usual ?? 0));
    const usual = dimension.usual ? `; ${shown(dimension.usual)} is usual between two sheets` : "";
    said.push(`Far from the last reading, ${last.written}${meant(value, dimension.unit, near) || usual}.`);
  }
  if (said.length) return said;
  if (most !== null && value > most) said.push(`Beyond the limit, ${shown(most)} at the most.`);
  else if (least !== null && value < least) said.push(`Beyond the limit, ${shown(least)} at the least.`);
  else if (last?.u && ((most !== null && most - value < 2 * last.u) || (least !== null && value - least < 2 * last.u))) {
    said.push("So near the limit that the gauge cannot tell.");
  }
  const against = known && last.u ? { up: last.value - value, down: value - last.value }[dimension.wears] ?? 0 : 0;
  if (against > 0 && against > 2 * Math.SQRT2 * last.u) said.push(`Less worn than last time, ${last.written}.`);
  return said;
}
