"use strict";
/* The browser's database of drafts and photos. All pages opened from disk share one, so that every key begins with the
   engine: with no shop's name, for a shop may get another one. And the tree of text that a sheet is. */

const FORM = JSON.parse(document.getElementById("form").textContent);
const PREFIX = `${FORM.engine}/`;

let opened = null;

function database() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open("bench-sheets", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("drafts");
      asked.result.createObjectStore("photos");
    };
    asked.onsuccess = () => {
      asked.result.onclose = () => { opened = null; };
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

/* Work on stores of the database, all of it or nothing. */
async function within(names, mode, work) {
  try {
    const db = await database();
    return await new Promise((resolve, reject) => {
      const transaction = db.transaction(names, mode);
      const asked = work(...names.map((name) => transaction.objectStore(name)));
      transaction.oncomplete = () => resolve(asked?.result);
      transaction.onabort = () => reject(transaction.error ?? new Error("the browser refused")); // after every error, too
    });
  } catch (trouble) {
    opened?.then((db) => db.close(), () => {});
    opened = null; // the next try opens it anew: some browsers close it under a sleeping page
    throw trouble;
  }
}

const range = (id = "") => IDBKeyRange.bound(PREFIX + id, `${PREFIX}${id}\uffff`);
const photoKey = (id, n) => `${PREFIX}${id}/${n}`;

const stored = (name, ask) => within([name], "readonly", ask);
const storedDrafts = () => stored("drafts", (texts) => texts.getAll(range()));
const storedDraft = (id) => stored("drafts", (texts) => texts.get(PREFIX + id));
const storedPhoto = (id, n) => stored("photos", (pictures) => pictures.get(photoKey(id, n)));
const deletePhoto = (id, n) => within(["photos"], "readwrite", (pictures) => pictures.delete(photoKey(id, n)));
/* Do something to a draft as it is stored, if it is still the state `rev` that it came from. */
async function overRev(id, rev, work) {
  let elsewhere = false;
  try {
    await within(["drafts", "photos"], "readwrite", (texts, pictures) => {
      const asked = texts.get(PREFIX + id);
      asked.onsuccess = () => {
        elsewhere = asked.result !== undefined && (asked.result.rev ?? 0) !== rev;
        if (elsewhere) asked.transaction.abort();
        else work(texts, pictures);
      };
    });
  } catch (trouble) {
    throw elsewhere ? new Error("another window has written this sheet") : trouble;
  }
}

/* Write a draft and new photos of it, both or neither, over the state that it came from and no other. Its new `rev`. */
async function writeDraft(draft, photos) {
  const rev = draft.rev ?? 0;
  const now = { ...structuredClone(draft), rev: rev + 1 };
  await overRev(now.id, rev, (texts, pictures) => {
    for (const [n, blob] of photos) pictures.put(blob, photoKey(now.id, n));
    texts.put(now, PREFIX + now.id);
  });
  return now.rev;
}

const deleteDraft = ({ id, rev = 0 }) => overRev(id, rev, (texts, pictures) => {
  pictures.delete(range(`${id}/`));
  texts.delete(PREFIX + id);
});

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
