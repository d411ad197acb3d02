"use strict";
/* Handing over: a draft becomes one zip. Nothing is deleted by it; a draft goes only for the receipt of the taking-in. */

const FOLDERS = { teardown: "teardowns", inspection: "inspections", build: "builds" };
const HEAD = ["engine", "date", "sheet", "reason", "by", "counter", "temperature", "note"];

const dayName = (draft) => (draft.nth > 1 ? `${draft.day}-${draft.nth}` : draft.day);
const zipName = (draft) => `${FORM.engine}-${draft.kind}-${dayName(draft)}.zip`;

/* The sheet with its photos at their places, keys in the order in which a person writes them. */
function wholeSheet(draft) {
  const sheet = structuredClone(draft.sheet);
  const names = photoNames(draft);
  for (const photo of draft.photos) {
    const line = { file: names.get(photo.n), ...(photo.view.trim() && { view: photo.view.trim() }), ...(photo.caption.trim() && { caption: photo.caption.trim() }), taken: photo.taken, original: photo.original };
    const path = photo.place ? ["positions", photo.place, "photos"] : ["photos"];
    putText(sheet, path, [...(textAt(sheet, path) ?? []), line]);
  }
  if (draft.partly && draft.kind === "teardown") {
    sheet.opened = FORM.positions.map((position) => position.id).filter((id) => id in (sheet.positions ?? {}) || Object.keys(sheet.positions ?? {}).some((key) => key.startsWith(id + MEMBER_JOIN)));
  }
  const order = [...HEAD, "opened", "instruments", "photos", "positions", "fits", "tests", "torque", "fluids"];
  const sorted = Object.fromEntries([...order, ...Object.keys(sheet)].filter((key) => key in sheet).map((key) => [key, sheet[key]]));
  if (sorted.positions) sorted.positions = inOrder(sorted.positions);
  return sorted;
}

const LINE = ["part", "origin", "measured", "observed", "finding", "photos", "decision", "because", "why"];

function inOrder(positions) {
  const known = FORM.positions.flatMap((position) => [position.id, ...position.members.map((member) => position.id + MEMBER_JOIN + member.id)]);
  const keys = [...known.filter((key) => key in positions), ...Object.keys(positions).filter((key) => !known.includes(key))];
  return Object.fromEntries(keys.map((key) => {
    const line = positions[key];
    const inner = [...LINE.filter((name) => name in line), ...Object.keys(line).filter((name) => !LINE.includes(name))];
    return [key, Object.fromEntries(inner.map((name) => [name, line[name]]))];
  }));
}

async function filesOf(draft) {
  const folder = `engines/${FORM.engine}/${FOLDERS[draft.kind]}/${dayName(draft)}`;
  const sheet = draft.kind === "teardown" ? `${folder}/teardown.yml` : `${folder}.yml`;
  const files = [[sheet, new TextEncoder().encode(toYaml(wholeSheet(draft)))]];
  const names = photoNames(draft);
  for (const photo of draft.photos) {
    const blob = await readPhoto(draft.id, photo.n);
    if (!blob) throw new Error(`the photo ${names.get(photo.n)} is no longer in this browser; remove it from the sheet or take it again`);
    files.push([`${folder}/${names.get(photo.n)}`, new Uint8Array(await blob.arrayBuffer())]);
  }
  return files;
}

async function zipOf(id) {
  await writing;
  const draft = await readDraft(id);
  const files = await filesOf(draft);
  return { name: zipName(draft), blob: makeZip(files, draft.day), receipt: await receiptOf(files) };
}

/* What was handed over is remembered with the state that it was of. */
async function remember(draft, receipt) {
  draft.handed = [...draft.handed.filter((one) => one.receipt !== receipt), { receipt, changed: draft.changed, at: new Date().toISOString() }];
  await keep(draft, false);
}

const isHanded = (draft) => draft.handed.some((one) => one.changed === draft.changed);
const stateWords = (draft) => (isHanded(draft) ? "Handed over; not yet known to be taken in" : draft.handed.length ? "Changed since it was handed over" : "Not handed over yet");

function saveFile(name, blob) {
  const link = el("a", { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

function handoverScreen(draft) {
  const state = el("p", { class: "state" }, stateWords(draft));
  const answer = el("div", { class: "answer", role: "status" });
  const attempt = (work) => async () => {
    say("The zip is being made…");
    try {
      const made = await zipOf(draft.id);
      await work(made);
      say("");
    } catch (trouble) {
      if (trouble.name !== "AbortError") say(`Not handed over: ${trouble.message}`);
      else say("");
    }
    state.textContent = stateWords(draft);
  };
  const keys = [];
  const trial = new File([], "x.zip", { type: "application/zip" });
  if (navigator.canShare?.({ files: [trial] })) {
    keys.push(button("Share the zip", attempt(async ({ name, blob, receipt }) => {
      await navigator.share({ files: [new File([blob], name, { type: "application/zip" })], title: name });
      await remember(draft, receipt);
    }), { class: "main" }));
  }
  keys.push(button("Save the zip", attempt(async ({ name, blob, receipt }) => { saveFile(name, blob); await remember(draft, receipt); }), { class: keys.length ? "" : "main" }));
  if (FORM.take) {
    keys.unshift(button("Hand over to this computer", attempt(async ({ blob, receipt }) => {
      const reply = await fetch(FORM.take, { method: "POST", headers: { "Content-Type": "application/zip" }, body: blob });
      const told = await reply.json();
      if (!reply.ok) throw new Error(told.error);
      await remember(draft, receipt);
      answer.replaceChildren(el("p", {}, `${told.outcome[0].toUpperCase()}${told.outcome.slice(1)}: ${told.path}`), ...told.problems.map((one) => el("p", { class: "odd" }, one)), el("p", {}, "Receipt: ", el("b", {}, told.receipt)));
    }), { class: "main" }));
  }
  return [el("h2", {}, "Hand over"), state, el("p", {}, summaryOf(draft)), el("div", { class: "keys" }, ...keys), answer, receiptFields(draft)];
}

function summaryOf(draft) {
  const filled = Object.keys(draft.sheet.positions ?? {}).length;
  return `${filled} of ${FORM.positions.length} places are filled in, with ${draft.photos.length} photos. What is blank counts as not looked at.`;
}

function receiptFields(draft) {
  const typed = el("input", { id: newId(), autocomplete: "off", autocapitalize: "off", spellcheck: "false", placeholder: "abcd-efgh" });
  return el("section", {}, el("h3", {}, "When it has been taken in"),
    el("p", {}, "Whoever takes the zip in is given a receipt of eight signs. Only with it may this draft be thrown away."),
    el("div", { class: "field" }, el("label", { for: typed.id }, "Receipt"), typed),
    button("Throw the draft away", async () => {
      const { receipt } = await zipOf(draft.id);
      if (!sameReceipt(typed.value, receipt)) {
        const older = draft.handed.some((one) => sameReceipt(typed.value, one.receipt));
        say(older ? "This receipt is of an earlier state: the sheet was changed since. Hand it over again." : "This is not the receipt of this sheet. Nothing was thrown away.");
        return;
      }
      await dropDraft(draft.id);
      window.location.hash = "#/";
      say("Thrown away: it has been taken in.");
    }, { class: "away" }));
}
