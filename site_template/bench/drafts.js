"use strict";
/* Drafts as they are written: of each one object in one window, kept at every keystroke. What the browser does not keep
   stays in this window, with its photos, until it does. */

const RETRY = 5000; // ms
const LOCK_WAIT = 400; // ms: a page that is loaded again waits for its own lock
const END_WAIT = 2000; // ms: for another window to end a draft

const live = new Map(); // id → { draft, release, unsaved, work, dirty, failed }: what this window writes
let writing = Promise.resolve(); // one after the other
let retrying = null;
let unshown = null; // why the drafts kept before could not be read

const isLive = (draft) => live.get(draft.id)?.draft === draft;
const lockName = (id) => `bench-sheets/${PREFIX}${id}`;

/* What lets a draft go again, or null where another window writes it. */
function lockOf(id) {
  if (!navigator.locks) return Promise.resolve(() => {}); // writeDraft still overwrites nothing
  const late = new AbortController();
  setTimeout(() => late.abort(), LOCK_WAIT);
  return new Promise((resolve) => {
    navigator.locks.request(lockName(id), { signal: late.signal }, () => new Promise(resolve))
      .catch((trouble) => resolve(trouble.name === "AbortError" ? null : () => {}));
  });
}

let waiting = null;

/* Tell when another window lets a draft go; `stopWaiting` where nobody wants to know any more. */
function whenFree(id, then) {
  waiting = new AbortController();
  navigator.locks.request(lockName(id), { signal: waiting.signal }, () => {}).then(then, () => {});
}
const stopWaiting = () => waiting?.abort();

const enliven = (draft, release) => live.set(draft.id, { draft, release, unsaved: new Map(), work: 0, dirty: false, failed: null });

/* A draft that was never kept; no other window knows of it. */
async function begun(draft) {
  enliven(draft, (await lockOf(draft.id)) ?? (() => {}));
  await keep(draft);
}

/* The one object of a draft, to be written; where another window writes it, what is kept, to be read alone. */
async function openDraft(id) {
  const here = live.get(id);
  if (here) return here.draft;
  const release = await lockOf(id);
  try {
    const draft = await storedDraft(id);
    if (draft && release) enliven(draft, release);
    return draft;
  } finally {
    if (!live.has(id)) release?.();
  }
}

/* Another window may write what is neither on this screen nor at work here. */
async function letGo(onScreen) {
  await writing;
  for (const [id, one] of live) {
    if (one.draft === onScreen || one.work || one.dirty) continue;
    live.delete(id);
    one.release();
  }
}

/* Work that goes on when its screen is left: until then the draft stays this window's. */
async function holding(draft, work) {
  const one = live.get(draft.id);
  one.work += 1;
  try {
    return await work(one);
  } finally {
    one.work -= 1;
    clearAway();
  }
}

async function drafts() {
  await writing;
  const all = new Map();
  unshown = null;
  try {
    for (const draft of await storedDrafts()) all.set(draft.id, draft);
  } catch (trouble) {
    unshown = trouble;
  }
  for (const [id, one] of live) all.set(id, one.draft);
  return [...all.values()].sort((one, other) => other.changed - one.changed);
}

/* Keep a draft as it is now; `touch` for what was typed, so that what was handed over before is known to be older. */
function keep(draft, touch = true) {
  if (touch) draft.changed = Math.max(Date.now(), draft.changed + 1);
  const one = live.get(draft.id);
  one.dirty = true;
  writing = writing.then(() => (one.dirty && isLive(draft) ? put(one) : null));
  return writing;
}

async function put(one) {
  const { draft } = one;
  const photos = new Map(one.unsaved);
  one.dirty = false;
  try {
    draft.rev = await writeDraft(draft, photos);
    for (const n of photos.keys()) one.unsaved.delete(n);
    one.failed = null;
  } catch (trouble) {
    one.dirty = true;
    one.failed = trouble ?? new Error("the browser refused");
    if (photos.size) await putTextAlone(one, photos);
    clearTimeout(retrying);
    retrying = setTimeout(retry, RETRY);
  }
  showStanding();
}

/* Where there is no room for photos there may be for words. */
async function putTextAlone(one, photos) {
  const { draft } = one;
  try {
    draft.rev = await writeDraft({ ...draft, photos: draft.photos.filter((photo) => !photos.has(photo.n)) }, []);
  } catch (trouble) {
    one.failed = trouble ?? one.failed; // said, and tried again, by the one who asked
  }
}

const troubled = () => [...live.values()].find((one) => one.failed);
const retry = () => { for (const one of live.values()) if (one.failed) keep(one.draft, false); };

const readPhoto = async (id, n) => live.get(id)?.unsaved.get(n) ?? storedPhoto(id, n);

async function dropPhoto(id, n) {
  if (live.get(id)?.unsaved.delete(n)) return;
  await deletePhoto(id, n).catch((trouble) => say(`The photo is off the sheet, and still in this browser: ${trouble.message}.`));
}

/* End a draft as it is; where another window writes it, that window does. */
async function dropDraft(draft) {
  await writing;
  const release = live.get(draft.id)?.release ?? await lockOf(draft.id);
  if (!release) return endedThere(draft);
  try {
    await deleteDraft(draft);
    live.delete(draft.id);
  } finally {
    if (!isLive(draft)) release();
  }
}

const windows = new BroadcastChannel("bench-sheets");

function endedThere({ id, changed }) {
  return new Promise((resolve, reject) => {
    windows.addEventListener("message", ({ data }) => data.ended === id && resolve());
    setTimeout(() => reject(new Error("another window has this sheet open, and is at work on it")), END_WAIT);
    windows.postMessage({ end: id, changed });
  });
}

windows.addEventListener("message", async ({ data }) => {
  const one = live.get(data.end);
  if (!one || one.work || one.dirty || one.failed || one.draft.changed !== data.changed) return;
  room.inert = true; // nothing is typed into what ends
  try {
    await dropDraft(one.draft);
    windows.postMessage({ ended: data.end });
    goSaying(TAKEN_IN);
  } catch (trouble) {
    say(`Not thrown away: ${trouble.message}.`);
  }
  room.inert = false;
});
