"use strict";
/* The screens and the way between them: all drafts, one draft's places, one place, the tests, the head, handing over. */

const room = document.getElementById("bench");
const standing = tag("div", { id: "standing", role: "alert" }); // what stays said from screen to screen
let shown = null; // the draft on the screen
let showing = Promise.resolve(); // one screen after the other
let listAt = 0; // px: how far the list of places was scrolled
let parting = ""; // what the next screen says
let newer = false; // a newer page is ready

const today = () => moment(new Date()).slice(0, 10);
const dayWords = (draft) => {
  const words = new Date(`${draft.day}T12:00`).toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" }).replaceAll(" ", "\u00a0");
  return draft.nth > 1 ? `${words}, sheet ${draft.nth}` : words;
};
const go = (...steps) => { location.hash = `#/${steps.join("/")}`; }; // ids hold nothing that an address does not
const onlyWay = () => el("nav", button("All sheets", () => go(), { class: "main" }));
const goSaying = (words) => { parting = words; go(); };

function showStanding() {
  const said = [];
  const bad = troubled();
  if (bad) said.push([`Not kept: ${(bad.failed.message || bad.failed.name).replace(/\.$/, "")}. What you write is in this window alone: leave it open, and hand over.`, "Try again now", retry]);
  if (newer) said.push(["A newer page is ready.", "Reload", () => location.reload()]);
  const words = said.map(([text]) => text).join();
  if (standing.dataset.words === words) return; // not read out at every keystroke
  standing.dataset.words = words;
  standing.replaceChildren(...said.map(([text, key, work]) => el("div.warning", text, " ", button(key, work, { class: "small" }))));
}

async function homeScreen() {
  const day = tag("input", { type: "date", value: today() });
  const which = nthField(1);
  const begin = async (kind) => {
    if (!isDay(day.value)) return say("Give the day of the sheet first.");
    const draft = newDraft(kind, day.value, await freeNth(kind, day.value, nthIn(which)));
    await begun(draft);
    return go("d", draft.id);
  };
  const all = await drafts();
  return [
    el("header", el("h1", `${FORM.engine}, bench`), el("p", FORM.name === FORM.engine ? FORM.shop : `${FORM.name}, ${FORM.shop}`)),
    unshown ? el("p.warning", `This browser does not show what was kept (${unshown.message}). Private windows often keep nothing; open the page in an ordinary one.`) : await storageWarning(),
    el("h2", "A new sheet"),
    labelled("Day", day), labelled("Sheet of that day", which),
    el("div.keys", ...Object.keys(KIND_WORDS).map((kind) => button(KIND_WORDS[kind], () => begin(kind)))),
    el("h2", all.length ? "On this device" : "No sheet is on this device"),
    el("ul.drafts", ...all.map((draft) => el("li", tag("a", { href: `#/d/${draft.id}` },
      el("b", `${KIND_WORDS[draft.kind]}, ${dayWords(draft)}`), el("span", draft.sheet.sheet ?? "", draft.shop === FORM.shop ? "" : `, ${draft.shop}`), el("em", stateWords(draft)))))),
    el("p.foot", `Places, limits and last values as of ${FORM.made}. What is written here is no permission to run: maker's data and competent practice come first.`),
  ];
}

async function storageWarning() {
  const lasting = await navigator.storage?.persisted?.().then((kept) => kept || navigator.storage.persist?.()).catch(() => false);
  return lasting ? null : el("p.warning", "This browser may clear what is kept here, for want of room or after a week unused. Hand over the same day.");
}

const filledIn = (draft, position) => {
  const keys = Object.keys(draft.sheet.positions ?? {}).filter((key) => key === position.id || key.startsWith(position.id + MEMBER_JOIN));
  const photos = draft.photos.filter((photo) => photo.place === position.id).length;
  const line = draft.sheet.positions?.[position.id] ?? {};
  const words = [line.decision, line.measured ? "measured" : "", line.observed ? "graded" : "", photos ? `${photos} photo${photos > 1 ? "s" : ""}` : "", !line.decision && line.part ? "serial" : ""].filter(Boolean);
  return words.length ? words.join(", ") : keys.length ? "written" : "";
};

/* What a place counts as where nothing is written of it: a build fits what it names. */
const blankWords = ({ kind }, position) => (kind !== "build" ? "not looked at" : position.whole ? "assembled" : "not fitted");

/* A field of another kind of sheet is there where something was written in it. */
const hasTests = ({ kind, sheet }) => FORM.tests.length && (kind !== "build" || sheet.tests);
const hasTorque = ({ kind, sheet }) => kind !== "teardown" || sheet.torque;

const wayTo = (draft, screen) => `#/d/${draft.id}/${screen}`;

function draftScreen(draft) {
  const bad = unreadIn(draft).map((one) => one.screen);
  const place = (screen, name, words) => el("li", tag("a", { href: wayTo(draft, screen) }, el("b", name),
    el("span", bad.includes(screen) ? `${words}, cannot be read` : words || "blank")));
  const blank = FORM.positions.find((position) => !filledIn(draft, position));
  return [
    el("h1", `${KIND_WORDS[draft.kind]}, ${FORM.engine}, ${dayWords(draft)}`),
    el("p.state", stateWords(draft)),
    FORM.sheets.includes(`${draft.kind} ${dayName(draft)}`) ? el("p.warning", "The record has this sheet of that day already. If yours is another, correct its number of the day below.") : null,
    el("ul.places", place("head", "The sheet", ["by", "reason", "counter", "temperature", "note"].filter((key) => draft.sheet[key]).join(", ") || "who, why, temperature"),
      ...FORM.positions.map((position) => place(`p/${position.id}`, position.name, filledIn(draft, position) || blankWords(draft, position))),
      FORM.fits.length ? place("fits", "Clearances", Object.keys(draft.sheet.fits ?? {}).length ? "measured" : "") : null,
      hasTests(draft) ? place("tests", "Tests", Object.keys(draft.sheet.tests ?? {}).join(", ").replaceAll("_", " ")) : null,
      hasTorque(draft) ? place("torque", "Torque", Object.keys(draft.sheet.torque ?? {}).join(", ").replaceAll("-", " ")) : null),
    whichSheet(draft), emptyAway(draft),
    el("nav", button("All sheets", () => go()), blank ? button("Next blank", () => go("d", draft.id, "p", blank.id)) : null, button("Hand over", () => go("d", draft.id, "over"), { class: "main" })),
  ];
}

function headScreen(draft) {
  const reasons = draft.kind === "build" && !draft.sheet.reason ? [] : [choice(draft, ["reason"], "Reason", FORM.reasons)];
  const people = tag("datalist", { id: "people" }, ...FORM.people.map((initials) => tag("option", { value: initials })));
  return [people,
    textField(draft, ["sheet"], "Number", { capitals: "characters" }),
    textField(draft, ["by"], "By", { list: "people", capitals: "characters", hint: FORM.people.length ? `Initials: ${FORM.people.join(", ")}` : "Initials" }), ...reasons,
    ...(draft.kind === "teardown" ? [openedField(draft)] : []),
    textField(draft, ["counter"], "Counter", { mode: "decimal", unit: "h", example: "41.6", hint: "As the engine's own counter shows it." }),
    textField(draft, ["temperature"], "Temperature of parts and gauges", { mode: "decimal", unit: "°C", example: "21" }),
    textField(draft, ["note"], "Note", { long: true, hint: "The owner may read it." }),
    textField(draft, ["crew_note"], "Note for the crew alone", { long: true }),
    ...(draft.kind === "build" || draft.sheet.fluids ? FORM.fluids.map(([fluid, name]) => textField(draft, ["fluids", fluid], fluid[0].toUpperCase() + fluid.slice(1), { hint: `in it now: ${name}` })) : []),
    photoFields(draft, "", "whole engine")];
}

/* A teardown takes the whole engine apart, unless it says what was opened. */
function openedField(draft) {
  const tick = tag("input", { type: "checkbox", id: newId(), onchange: () => { draft.partly = tick.checked; keep(draft); } });
  tick.checked = draft.partly ?? false;
  return el("div.tick", tick, tag("label", { for: tick.id }, "Only the places that are filled in were opened"));
}

/* The screens of a draft in the order of the bench, for back and next. */
const stops = (draft) => ["head", ...FORM.positions.map(({ id }) => `p/${id}`), ...(FORM.fits.length ? ["fits"] : []),
  ...(hasTests(draft) ? ["tests"] : []), ...(hasTorque(draft) ? ["torque"] : []), "over"];

function withSteps(draft, steps, screen) {
  const all = stops(draft);
  const at = all.indexOf(steps.join("/"));
  const step = (n) => go("d", draft.id, all[at + n] ?? "");
  return [...screen, el("nav", button("Back", () => step(-1)), button("Places", () => go("d", draft.id)), at + 1 < all.length ? button("Next", () => step(1), { class: "main" }) : null)];
}

async function screenFor(draft, steps) {
  if (steps[0] !== "d") return homeScreen();
  if (!draft) return [el("h1", "This sheet is not on this device"), onlyWay()];
  const inside = insideOf(draft, steps.slice(2));
  return isLive(draft) ? inside : readAlone(draft, inside);
}

/* What another window writes is shown; its fields and keys wait until that window has let it go. */
function readAlone(draft, inside) {
  whenFree(draft.id, show);
  const ways = inside.filter((one) => one?.nodeName === "NAV");
  return [el("p.warning", "This sheet is open in another window, and is written there. Close it there to write here."),
    tag("fieldset", { disabled: true, class: "alone" }, ...inside.filter((one) => one && !ways.includes(one))), ...ways];
}

function insideOf(draft, rest) {
  const position = FORM.positions.find((one) => one.id === rest[1]);
  const screens = {
    head: ["The sheet", headScreen], fits: ["Clearances", fitsScreen], tests: ["Tests", testsScreen], torque: ["Torque", torqueScreen],
    over: ["Hand over", handoverScreen], p: position && [position.name, () => placeScreen(draft, position)],
  };
  const [title, screen] = screens[rest[0]] ?? [];
  return screen ? withSteps(draft, rest, [el("h2", title), ...screen(draft)]) : draftScreen(draft);
}

/* The receipt that an address brings is used up before anything is shown, and the address is an ordinary one then. */
async function readReceipt() {
  const [, code] = /^#receipt=([\w-]+)/.exec(location.hash) ?? [];
  if (!code) return;
  const [where, words] = await endedBy(code).catch((trouble) => ["#/", `Nothing was thrown away: ${trouble.message}.`]);
  history.replaceState(null, "", where);
  say(words);
}

async function render() {
  await readReceipt();
  stopWaiting();
  let steps = [];
  let draft = null;
  let inside = [];
  try {
    steps = location.hash.replace(/^#\/?/, "").split("/").filter(Boolean).map(decodeURIComponent);
    draft = steps[0] === "d" ? await openDraft(steps[1]) : null;
    inside = await screenFor(draft, steps);
  } catch (trouble) {
    inside = [el("h1", "This sheet cannot be read"), el("p", `The browser does not give it (${trouble.message}).`), onlyWay()];
  }
  if (room.querySelector(".places")) listAt = scrollY;
  room.replaceChildren(...inside.filter(Boolean));
  shown = draft;
  scrollTo(0, steps.length === 2 ? listAt : 0);
  room.focus({ preventScroll: true });
  clearAway();
}

const show = () => { showing = showing.then(render); };
const clearAway = () => { showing = showing.then(() => letGo(shown)); };

addEventListener("hashchange", () => { say(parting); parting = ""; show(); });
addEventListener("pointerdown", () => say(""), true); // read, and out of the way of what is under it
document.addEventListener("visibilitychange", async () => {
  if (document.visibilityState !== "visible") return;
  navigator.serviceWorker?.getRegistration().then((one) => one?.update()).catch(() => {}); // offline: the page is the one kept
  if (!shown || isLive(shown)) return;
  const kept = await storedDraft(shown.id); // another window writes it
  if (kept && kept.changed > shown.changed) show();
});
addEventListener("beforeunload", (event) => {
  if ([...live.values()].some((one) => one.failed || one.dirty || one.work || one.unsaved.size)) event.preventDefault();
});
if (/^https?:$/.test(location.protocol)) { // what is installed and works offline; a page on disk does so by itself
  document.head.append(tag("link", { rel: "manifest", href: "manifest.webmanifest" }));
  const worker = navigator.serviceWorker;
  let older = worker?.controller; // this page came from its keeping
  worker?.addEventListener("controllerchange", () => {
    newer = Boolean(older);
    older = worker.controller;
    showStanding();
  });
  worker?.register("sw.js").catch(() => say("Without a network this page will not open again; save it as a file."));
}
room.before(standing);
window.bench = { open: async (draft) => { await begun(draft); go("d", draft.id); }, drafts, zip: zipOf };
show();
