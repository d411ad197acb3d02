"use strict";
/* Handing over: a draft becomes one zip. Nothing is deleted by it; a draft goes only for the receipt of the taking-in. */

const FOLDERS = { teardown: "teardowns", inspection: "inspections", build: "builds" };
const HEAD = ["engine", "date", "sheet", "reason", "by", "counter", "temperature", "note", "crew_note"];

const dayName = (draft) => (draft.nth > 1 ? `${draft.day}-${draft.nth}` : draft.day);
const zipName = (draft) => `${FORM.engine}-${draft.kind}-${dayName(draft)}.zip`;

/* The sheet with its photos at their places, keys in the order in which a person writes them. */
function wholeSheet(draft) {
  const sheet = structuredClone(draft.sheet);
  const names = photoNames(draft);
  for (const photo of draft.photos) {
    const line = { file: names.get(photo.n) };
    for (const key of ["view", "caption", "taken", "original", "crew_only"]) putText(line, [key], (photo[key] ?? "").trim());
    const path = photo.place ? ["positions", photo.place, "photos"] : ["photos"];
    putText(sheet, path, [...(textAt(sheet, path) ?? []), line]);
  }
  if (draft.partly && draft.kind === "teardown") {
    sheet.opened = FORM.positions.map((position) => position.id).filter((id) => id in (sheet.positions ?? {}) || Object.keys(sheet.positions ?? {}).some((key) => key.startsWith(id + MEMBER_JOIN)));
  }
  const order = [...HEAD, "opened", "instruments", "photos", "positions", "fits", "work", "tests", "torque", "fluids"];
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

/* The draft as it is now, whatever is typed while the zip is made; `changed` says which state that was. */
async function zipOf(id) {
  const draft = structuredClone(live.get(id)?.draft ?? await storedDraft(id));
  const files = await filesOf(draft);
  return { name: zipName(draft), blob: makeZip(files, draft.day), receipt: await receiptOf(files), changed: draft.changed };
}

/* What was handed over is remembered with the state that it was of, and what became of it where that is known. */
async function remember(draft, { receipt, changed }, outcome) {
  const before = draft.handed.find((one) => one.receipt === receipt);
  const now = { receipt, changed, at: new Date().toISOString(), outcome: outcome ?? before?.outcome };
  draft.handed = [...draft.handed.filter((one) => one !== before), now];
  await keep(draft, false);
}

const OUTCOMES = { "taken in": "Taken in", "already there": "Taken in before", "kept in the inbox": "In the shop's inbox, to be settled there" };
const handedNow = (draft) => draft.handed.find((one) => one.changed === draft.changed);

function stateWords(draft) {
  const now = handedNow(draft);
  if (now) return OUTCOMES[now.outcome] ?? "Handed over; not yet known to be taken in";
  return draft.handed.length ? "Changed since it was handed over" : "Not handed over yet";
}

function saveFile(name, blob) {
  const link = tag("a", { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

function handoverScreen(draft) {
  const state = tag("p.state", { role: "status" });
  const answer = tag("div.answer", { role: "status" });
  const receipt = tag("input", { autocapitalize: "off", spellcheck: "false", placeholder: "abcd-efgh" });
  const tell = () => {
    state.textContent = stateWords(draft);
    const now = handedNow(draft);
    if (OUTCOMES[now?.outcome]) receipt.value = now.receipt; // the computer that took it in has said it
  };
  const attempt = (work) => () => holding(draft, async () => {
    say("The zip is being made…");
    answer.replaceChildren();
    try {
      await work(await zipOf(draft.id));
      say("");
    } catch (trouble) {
      say(trouble.name === "AbortError" ? "" : `Not handed over: ${trouble.message}`);
    }
    tell();
  });
  tell();
  const keys = waysOver(draft, answer).map(([words, work], at) => button(words, attempt(work), { class: at ? "" : "main" }));
  return [state, el("p", summaryOf(draft)), warningOf(unreadIn(draft), draft), el("div.keys", ...keys), answer, receiptFields(draft, receipt)];
}

/* How this browser can hand over, the nearest way first. */
function waysOver(draft, answer) {
  const ways = [];
  if (FORM.take) ways.push(["Hand over to this computer", (made) => toThisComputer(draft, made, answer)]);
  const zip = (blob, name) => new File([blob], name, { type: "application/zip" });
  if (navigator.canShare?.({ files: [zip("", "x.zip")] })) {
    ways.push(["Share the zip", async (made) => {
      await navigator.share({ files: [zip(made.blob, made.name)], title: made.name });
      await remember(draft, made);
    }]);
  }
  ways.push(["Save the zip", (made) => { saveFile(made.name, made.blob); return remember(draft, made); }]);
  return ways;
}

async function toThisComputer(draft, made, answer) {
  const reply = await fetch(FORM.take, { method: "POST", headers: { "Content-Type": "application/zip" }, body: made.blob });
  const told = await reply.json();
  if (!reply.ok) throw new Error(told.error);
  await remember(draft, made, told.outcome);
  answer.replaceChildren(el("p", told.path), ...told.problems.map((one) => el("p.odd", one)), el("p", "Receipt: ", el("b", told.receipt)));
}

function summaryOf(draft) {
  const filled = Object.keys(draft.sheet.positions ?? {}).length;
  return `${filled} of ${FORM.positions.length} places are filled in; photos: ${draft.photos.length}. What is blank counts as ${blankWords(draft, {})}.`;
}

/* What keeps the sheet in the inbox, each with the way to its field. */
const warningOf = (bad, draft) => bad.length && el("div.warning", "With this the sheet waits in the shop's inbox:",
  el("ul", ...bad.map(({ screen, name, why }) => el("li", tag("a", { href: wayTo(draft, screen) }, name), `: ${why}`))));

function receiptFields(draft, typed) {
  return el("section", el("h3", "When it has been taken in"),
    el("p", "Whoever takes the zip in is given a receipt of eight signs. Only with it may this draft be thrown away."),
    labelled("Receipt", typed),
    button("Throw the draft away", async () => {
      const { receipt, changed } = await zipOf(draft.id);
      if (sameReceipt(typed.value, receipt) && changed === draft.changed) return thrownAway(draft, TAKEN_IN);
      return say(hadReceipt(draft, typed.value) ? EARLIER : "This is not the receipt of this sheet. Nothing was thrown away.");
    }, { class: "away" }));
}

const TAKEN_IN = "Thrown away: the shop has it.";
const EARLIER = "This receipt is of an earlier state: the sheet was changed since. Hand it over again.";
const hadReceipt = (draft, code) => draft.handed.some((one) => sameReceipt(code, one.receipt));

/* A receipt that came with the address, from the code that the taking-in shows: the draft that it belongs to ends, also
   where another window has it open. Returns what the address is then, and what is said. */
async function endedBy(code) {
  const all = await drafts();
  if (unshown) throw unshown;
  all.sort((one, other) => hadReceipt(other, code) - hadReceipt(one, code));
  for (const draft of all) {
    const { receipt, changed } = await zipOf(draft.id).catch(() => ({})); // a photo of it is gone: it was never handed over so
    if (!receipt || !sameReceipt(code, receipt)) continue;
    if (live.get(draft.id)?.work || changed !== draft.changed) return [`#/d/${draft.id}/over`, BUSY];
    await dropDraft(draft);
    return ["#/", `${KIND_WORDS[draft.kind]}, ${dayWords(draft)}. ${TAKEN_IN}`];
  }
  const older = all.find((draft) => hadReceipt(draft, code));
  return older ? [`#/d/${older.id}/over`, EARLIER]
    : ["#/", `${code} is the receipt of no sheet here: nothing was thrown away. If it was written in another browser, or on the home screen, type it in there.`];
}
