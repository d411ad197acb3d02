"use strict";
/* Opens a locked history: from the key in the link, the key in the box, or eight words. Nothing is shown before every
   part has been decrypted and found unchanged. */

const EIGHT = 8;
const KEY = /^[\w-]{42}[AEIMQUYcgkosw048]$/; // 32 bytes in base64url: the last sign carries four bits
const ANCHOR = /^(c\d+(-.*)?|contents|parts|cautions)$/; // of an opened history: left in the address, it is no key
const ask = document.getElementById("ask");
const box = document.getElementById("key");
const said = document.getElementById("said");
let locked; // what the file holds
let list; // the words that there are
let busy = false;

/* What is told to whoever wants to open it. */
class Refused extends Error {}
const CHANGED = "It does not open: this is another file's key, or the file was changed on its way.";
const HALF = "It does not open: these are another file's words, or the file was changed on its way.";
const INSECURE = "This page came over plain http from another machine, and browsers decrypt nothing there. Save the file and open it from your disk, or open it over https.";
const CUT = "This file is not whole: fetch it once more.";
const OLD = "This browser is too old to open it. Take a newer one.";

function say(words, refused = false) {
  said.textContent = words;
  said.classList.toggle("no", refused);
}

const utf8 = (text) => new TextEncoder().encode(text);
const bytes = (base64) => Uint8Array.from(atob(base64), (sign) => sign.charCodeAt(0));
const keyFrom = (raw) => crypto.subtle.importKey("raw", raw, "AES-GCM", false, ["decrypt"]);

/* AES-GCM: the content of one box, or an error if a bit of it, of its place or of the key is another. */
const decrypted = (key, iv, sealed, identity) =>
  crypto.subtle.decrypt({ name: "AES-GCM", iv, additionalData: identity }, key, sealed);

async function content(key, part, place, refusal) {
  try {
    return await decrypted(key, bytes(part.iv), bytes(part.sealed), utf8(`${locked.id}|${place}`));
  } catch (trouble) {
    if (trouble instanceof DOMException) throw new Refused(refusal);
    throw trouble;
  }
}

/* The file's key, from what was typed or pasted: the key, a whole link with it, or the words. */
async function keyOf(typed) {
  const words = typed.toLowerCase().match(/[a-z]+/g) ?? [];
  const named = typed.slice(typed.lastIndexOf("#") + 1).replace(/\s/g, "");
  if (words.length === EIGHT && words.every((word) => list.has(word))) return keyOfWords(words.join(" "));
  const meantWords = words.filter((word) => list.has(word)).length > EIGHT / 2; // a key that a mail broke has no such pieces
  if (KEY.test(named) && !meantWords) return keyFrom(bytes(`${named.replaceAll("-", "+").replaceAll("_", "/")}=`));
  throw new Refused(slip(typed, words, named));
}

async function keyOfWords(words) {
  const secret = await crypto.subtle.importKey("raw", utf8(words), "PBKDF2", false, ["deriveKey"]);
  const how = { name: "PBKDF2", hash: "SHA-256", salt: bytes(locked.salt), iterations: locked.rounds };
  const wrapping = await crypto.subtle.deriveKey(how, secret, { name: "AES-GCM", length: 256 }, false, ["decrypt"]);
  return keyFrom(await content(wrapping, locked.wrapped, "key", HALF));
}

/* What is amiss with it, for whoever typed it. */
function slip(typed, words, named) {
  if (!typed.trim()) return "Paste the key, or type the eight words.";
  if (!/\s/.test(typed.trim())) return named.length === 43 ? "This is no key: look for a sign that was read wrongly." : `A key has 43 signs; this has ${named.length}.`;
  const strange = words.find((word) => !list.has(word));
  if (strange) return `“${strange}” is none of the words: look for a slip.`;
  return `There are eight words; ${words.length === 1 ? "this is one" : `these are ${words.length}`}.`;
}

/* The page and the photos, all of them unchanged. */
async function everything(key) {
  const contents = [];
  for (const [place, part] of locked.parts.entries()) {
    say(place ? `Opening photo ${place} of ${locked.parts.length - 1} …` : "Opening …");
    contents.push(await content(key, part, place, CHANGED));
  }
  const [page, ...photos] = contents;
  return { page: JSON.parse(new TextDecoder().decode(page)), photos };
}

/* The history in the place of this page. Its styles are set by script: the policy admits no others. */
function show({ page, photos }) {
  const style = new CSSStyleSheet();
  style.replaceSync(page.style);
  const addresses = photos.map((photo) => URL.createObjectURL(new Blob([photo], { type: "image/jpeg" })));
  document.getElementById("closed").remove();
  document.adoptedStyleSheets = [style];
  document.documentElement.className = page.class;
  document.body.innerHTML = page.body;
  document.title = page.title;
  for (const one of document.querySelectorAll("[data-style]")) one.style.cssText = one.dataset.style;
  for (const one of document.querySelectorAll("[data-photo]")) {
    const address = addresses[one.dataset.photo - 1];
    if (one.localName === "img") one.src = address;
    else Object.assign(one, { href: address, target: "_blank" });
  }
  window.scrollTo(0, 0);
}

async function unlock(typed) {
  if (busy) return;
  busy = ask.querySelector("button").disabled = true;
  say("Opening …");
  try {
    const opened = await everything(await keyOf(typed));
    window.removeEventListener("hashchange", openByLink);
    history.replaceState(null, "", location.pathname + location.search); // the key stands in the address no longer
    show(opened);
  } catch (trouble) {
    say(trouble instanceof Refused ? trouble.message : `It could not be opened here: ${trouble.message}`, true);
  } finally {
    busy = ask.querySelector("button").disabled = false;
  }
}

function openByLink() {
  const key = location.hash.slice(1);
  if (key && !ANCHOR.test(key)) unlock(key);
}

/* The box has lines so that a whole key is seen in it; Enter opens all the same, and with Shift it begins a line. */
function openOnEnter(event) {
  if (event.key !== "Enter" || event.shiftKey || event.isComposing) return;
  event.preventDefault();
  ask.requestSubmit();
}

function refuse(words) {
  ask.hidden = true;
  say(words, true);
}

function begin() {
  if (!window.isSecureContext) return refuse(INSECURE);
  if (!window.crypto?.subtle || !CSSStyleSheet.prototype.replaceSync) return refuse(OLD);
  try {
    locked = JSON.parse(document.getElementById("locked").textContent);
  } catch {
    return refuse(CUT);
  }
  list = new Set(locked.words.split(" "));
  ask.addEventListener("submit", (event) => { event.preventDefault(); unlock(box.value); });
  box.addEventListener("keydown", openOnEnter);
  window.addEventListener("hashchange", openByLink);
  return openByLink();
}

document.addEventListener("DOMContentLoaded", begin); // the file may be long, and what is locked comes last
