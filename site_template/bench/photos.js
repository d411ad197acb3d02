"use strict";
/* Photos as they are taken: shrunk, upright, with nothing of the camera's notes, and the checksum of its own file. */

const LONGEST = 2560; // pixels: a scratch on a bearing still shows
const JPEG_QUALITY = 0.85;

const two = (number) => String(number).padStart(2, "0");
const moment = (at) => `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}`;

async function shrunk(file) {
  const bytes = await file.arrayBuffer();
  const original = `sha256:${hex(await sha256(bytes))}`;
  let picture;
  try {
    picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    throw new Error(`${file.name} is no picture that this browser can read`);
  }
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const paper = canvas.getContext("2d");
  paper.fillStyle = "#fff"; // under what is transparent
  paper.fillRect(0, 0, canvas.width, canvas.height);
  paper.imageSmoothingQuality = "high";
  paper.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", JPEG_QUALITY));
  if (!blob) throw new Error(`${file.name} could not be made smaller; there may be too little memory`);
  return { blob, original, taken: takenAt(bytes) }; // never the file's own time: a copy has that of its copying
}

/* Each photo as soon as it is ready; one that cannot be read stops no other, and is said at the end. */
const addPhotos = (draft, place, view, files) => holding(draft, async ({ unsaved }) => {
  const bad = [];
  for (const file of files) {
    try {
      const { blob, original, taken } = await shrunk(file);
      const n = hex(crypto.getRandomValues(new Uint8Array(8)));
      unsaved.set(n, blob);
      draft.photos.push({ n, place, view, caption: "", taken, original });
      await keep(draft);
    } catch (trouble) {
      bad.push(trouble.message);
    }
  }
  if (bad.length) throw new Error(bad.join("; "));
});

const slug = (text) => text.normalize("NFKD").replace(/[^\x00-\x7f]/g, "").toLowerCase().replace(/[^a-z0-9]+/g, "-").slice(0, 40).replace(/^-|-$/g, "");

/* Each photo's file name: its place and its view, with a number where that is taken. */
function photoNames(draft) {
  const taken = new Set();
  return new Map(draft.photos.map((photo) => {
    const stem = [slug(photo.place) || "engine", slug(photo.view)].filter(Boolean).join("-");
    let name = `${stem}.jpg`;
    for (let number = 2; taken.has(name); number += 1) name = `${stem}-${number}.jpg`;
    taken.add(name);
    return [photo.n, name];
  }));
}
