"use strict";
/* The browser's database of drafts and photos. All pages opened from disk share one, so that every key begins with the
   shop and the engine. And the tree of text that a sheet is. */

const FORM = JSON.parse(document.getElementById("form").textContent);
const PREFIX = `${FORM.shop}/${FORM.engine}/`;

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

async function within(names, mode, work) {
  try {
    const db = await database();
    return await new Promise((resolve, reject) => {
      const transaction = db.transaction(names, mode);
      const asked = work((name) => transaction.objectStore(name));
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

const storedDrafts = () => within(["drafts"], "readonly", (store) => store("drafts").getAll(range()));
const storedDraft = (id) => within(["drafts"], "readonly", (store) => store("drafts").get(PREFIX + id));
const storedPhoto = (id, n) => within(["photos"], "readonly", (store) => store("photos").get(photoKey(id, n)));
const deletePhoto = (id, n) => within(["photos"], "readwrite", (store) => store("photos").delete(photoKey(id, n)));
const deleteDraft = (id) => within(["drafts", "photos"], "readwrite", (store) => {
  store("photos").delete(range(`${id}/`));
  return store("drafts").delete(PREFIX + id);
});

/* Write a draft and new photos of it, both or neither, over the state that it came from and no other. Its new `rev`. */
async function writeDraft(draft, photos) {
  const now = { ...structuredClone(draft), rev: (draft.rev ?? 0) + 1 };
  let elsewhere = false;
  try {
    await within(["drafts", "photos"], "readwrite", (store) => {
      const asked = store("drafts").get(PREFIX + now.id);
      asked.onsuccess = () => {
        elsewhere = asked.result !== undefined && (asked.result.rev ?? 0) !== now.rev - 1;
        if (elsewhere) return asked.transaction.abort();
        for (const [n, blob] of photos) store("photos").put(blob, photoKey(now.id, n));
        return store("drafts").put(now, PREFIX + now.id);
      };
    });
  } catch (trouble) {
    throw elsewhere ? new Error("another window has written this sheet") : trouble;
  }
  return now.rev;
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
