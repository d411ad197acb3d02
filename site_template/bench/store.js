"use strict";
/* Drafts and their photos, kept in the browser at every keystroke. All pages opened from disk share one database, so that
   every key begins with the shop and the engine. */

const FORM = JSON.parse(document.getElementById("form").textContent);
const PREFIX = `${FORM.shop}/${FORM.engine}/`;

let opened = null;
let writing = Promise.resolve(); // one after the other, in the order typed
let failed = null; // why the browser did not keep what was typed

function database() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open("bench-sheets", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("drafts");
      asked.result.createObjectStore("photos");
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

async function within(names, mode, work) {
  const db = await database();
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(names, mode);
    const asked = work((name) => transaction.objectStore(name));
    transaction.oncomplete = () => resolve(asked?.result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

const range = (id = "") => IDBKeyRange.bound(PREFIX + id, `${PREFIX}${id}\uffff`);

async function drafts() {
  const all = await within(["drafts"], "readonly", (store) => store("drafts").getAll(range()));
  return all.sort((one, other) => other.changed - one.changed);
}

const readDraft = (id) => within(["drafts"], "readonly", (store) => store("drafts").get(PREFIX + id));

/* Keep a draft as it is now; `touch` for what was typed, so that what was handed over before is known to be older. */
function keep(draft, touch = true) {
  if (touch) draft.changed = Math.max(Date.now(), draft.changed + 1);
  const now = structuredClone(draft);
  writing = writing.then(() => within(["drafts"], "readwrite", (store) => store("drafts").put(now, PREFIX + now.id)))
    .then(() => { failed = null; }, (trouble) => { failed = trouble; say(`Not kept: ${trouble?.message ?? "the browser refused"}. Write it down, and hand over what is here.`); });
  return writing;
}

const keepPhoto = (id, n, blob) => within(["photos"], "readwrite", (store) => store("photos").put(blob, `${PREFIX}${id}/${n}`));
const readPhoto = (id, n) => within(["photos"], "readonly", (store) => store("photos").get(`${PREFIX}${id}/${n}`));
const dropPhoto = (id, n) => within(["photos"], "readwrite", (store) => store("photos").delete(`${PREFIX}${id}/${n}`));

const dropDraft = (id) => within(["drafts", "photos"], "readwrite", (store) => {
  store("photos").delete(range(`${id}/`));
  return store("drafts").delete(PREFIX + id);
});

function newDraft(kind, day, nth) {
  const sheet = { engine: FORM.engine, date: day };
  if (FORM.kinds[kind].number) sheet.sheet = FORM.kinds[kind].number;
  if (kind === "build") sheet.positions = Object.fromEntries(FORM.positions.flatMap(asFitted));
  const id = `${day}-${kind}-${hex(crypto.getRandomValues(new Uint8Array(4)))}`;
  return { id, kind, day, nth, sheet, photos: [], changed: 0, handed: [] };
}

/* A build sheet proposes what is fitted now. */
function asFitted(position) {
  const named = position.members.filter((member) => member.part);
  if (position.whole || !named.length) return [];
  const set = position.members.length > 1 || position.members[0].id;
  return [[position.id, { part: set ? Object.fromEntries(named.map((member) => [member.id, member.part])) : named[0].part }]];
}

/* The text at a path of the sheet, and the same written there; an empty text goes, and so do maps that hold nothing. */
function textAt(tree, path) {
  return path.reduce((inner, key) => (inner && typeof inner === "object" ? inner[key] : undefined), tree);
}

function putText(tree, path, value) {
  const [key, ...rest] = path;
  if (!rest.length) {
    if (value === "" || value === undefined || (Array.isArray(value) && !value.length)) delete tree[key];
    else tree[key] = value;
    return;
  }
  if (typeof tree[key] !== "object" || tree[key] === null || Array.isArray(tree[key])) tree[key] = {};
  putText(tree[key], rest, value);
  if (!Object.keys(tree[key]).length) delete tree[key];
}
