"use strict";
/* A sheet's beginning: its kind, its day and number, what it proposes; and the three corrected on its first screen. */

const KIND_WORDS = { teardown: "Teardown", inspection: "Inspection", build: "Build" };
const LETTERS = "bcdfghjkmnpqrstvwxz"; // no vowel makes a word, and none is taken for a digit
const MOST_A_DAY = 99;

/* The shop's next number with letters of its own: two phones without a network propose the same number. */
function newNumber(kind) {
  const { number } = FORM.kinds[kind];
  return number && `${number}-${Array.from(crypto.getRandomValues(new Uint8Array(4)), (byte) => LETTERS[byte % LETTERS.length]).join("")}`;
}

function newDraft(kind, day, nth) {
  const sheet = { engine: FORM.engine, date: day, ...blank(kind) };
  putText(sheet, ["sheet"], newNumber(kind) ?? "");
  const id = `${day}-${kind}-${hex(crypto.getRandomValues(new Uint8Array(4)))}`;
  return { id, kind, day, nth, shop: FORM.shop, sheet, photos: [], changed: 0, handed: [] };
}

/* A build sheet proposes what goes in by the record. */
const blank = (kind) => (kind === "build" ? { positions: structuredClone(FORM.goes_in) } : {});

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/* Whether nobody wrote anything: no photo, and on the sheet what it began with. */
function isEmpty(draft) {
  const { engine, date, sheet, ...written } = draft.sheet;
  return !draft.photos.length && !draft.partly && same(written, blank(draft.kind));
}

/* The first number from `nth` on of which this device has no other sheet of that kind and day. */
async function freeNth(kind, day, nth, id) {
  const taken = (await drafts()).filter((one) => one.id !== id && one.kind === kind && one.day === day).map((one) => one.nth);
  let free = nth;
  while (taken.includes(free)) free += 1;
  return free;
}

/* All that was written stays; what a build sheet proposed goes where it becomes another, and comes where it becomes one. */
function turnInto(draft, kind) {
  for (const [place, { part }] of Object.entries(blank(draft.kind).positions ?? {})) {
    const path = ["positions", place, "part"];
    if (same(textAt(draft.sheet, path), part)) putText(draft.sheet, path, "");
  }
  for (const [place, { part }] of Object.entries(blank(kind).positions ?? {})) {
    const path = ["positions", place, "part"];
    if (!textAt(draft.sheet, path)) putText(draft.sheet, path, part);
  }
  const proposed = FORM.kinds[draft.kind].number;
  if (!draft.sheet.sheet || (proposed && draft.sheet.sheet.startsWith(proposed))) putText(draft.sheet, ["sheet"], newNumber(kind) ?? "");
  draft.kind = kind;
}

const isDay = (text) => /^\d{4}-\d{2}-\d{2}$/.test(text);
const nthField = (value) => tag("input", { type: "number", inputmode: "numeric", min: 1, max: MOST_A_DAY, value });
const nthIn = (field) => Math.min(MOST_A_DAY, Math.max(1, Math.trunc(Number(field.value)) || 1));

function whichSheet(draft) {
  const change = () => holding(draft, async () => {
    if (!isDay(day.value)) return say("Give the day of the sheet.");
    const nth = await freeNth(kind.value, day.value, nthIn(which), draft.id);
    if (kind.value !== draft.kind) turnInto(draft, kind.value);
    draft.day = day.value;
    draft.sheet.date = day.value + draft.sheet.date.slice(day.value.length); // a time of day stays
    draft.nth = nth;
    await keep(draft);
    return show();
  });
  const day = tag("input", { type: "date", value: draft.day });
  const which = nthField(draft.nth);
  const kind = el("select", ...Object.entries(KIND_WORDS).map(([value, words]) => tag("option", { value, selected: value === draft.kind }, words)));
  const known = draft.handed.find((one) => OUTCOMES[one.outcome]);
  return folded("Day and kind of this sheet", false,
    known && el("p.warning", `The shop has this sheet as of ${dayWords(draft)}: it is moved to another day there.`), labelled("Day", day), labelled("Kind", kind), labelled("Sheet of that day", which), button("Correct it", change));
}

const emptyAway = (draft) => (isEmpty(draft) ? button("Throw this empty sheet away", async () => {
  if (isEmpty(draft)) await thrownAway(draft, "Thrown away: nothing was written on it.");
}, { class: "away" }) : null);

const BUSY = "Something of this sheet is still being kept or handed over. Try again in a moment.";

async function thrownAway(draft, words) {
  if (live.get(draft.id)?.work) return say(BUSY);
  try {
    await dropDraft(draft);
  } catch (trouble) {
    return say(`Not thrown away: ${trouble.message}.`);
  }
  return goSaying(words);
}
