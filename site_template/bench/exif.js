"use strict";
/* When a photo was taken, from a JPEG's own notes: Exif 2.3 (CIPA DC-008), 4.6; nothing of them is kept with the photo. */

const EXIF = 0x45786966; // "Exif"
const NOTES_AT = 0x8769; // in the first directory: where the camera's own begins
const TAKEN_AT = 0x9003; // there: DateTimeOriginal, "2026:11:24 17:05:09"

/* "2026-11-24 17:05"; nothing where the file does not say it. */
function takenAt(buffer) {
  try {
    const view = new DataView(buffer);
    if (view.getUint16(0) !== 0xffd8) return "";
    for (let at = 2; view.getUint8(at) === 0xff && view.getUint8(at + 1) !== 0xda; at += 2 + view.getUint16(at + 2)) {
      if (view.getUint16(at) === 0xffe1 && view.getUint32(at + 4) === EXIF) return takenIn(new DataView(buffer, at + 10));
    }
  } catch (trouble) {
    if (!(trouble instanceof RangeError)) throw trouble; // notes that end too soon say nothing
  }
  return "";
}

function takenIn(notes) {
  const little = notes.getUint16(0) === 0x4949; // "II"; "MM" is big-endian
  const valueOf = (directory, tag) => {
    for (let left = notes.getUint16(directory, little), at = directory + 2; left > 0; left -= 1, at += 12) {
      if (notes.getUint16(at, little) === tag) return notes.getUint32(at + 8, little);
    }
    return 0;
  };
  const own = valueOf(notes.getUint32(4, little), NOTES_AT);
  const at = own && valueOf(own, TAKEN_AT);
  if (!at) return "";
  const text = String.fromCharCode(...Array.from({ length: 16 }, (_, n) => notes.getUint8(at + n)));
  const moment = text.replace(/^(\d{4}):(\d\d):(\d\d) (\d\d:\d\d)$/, "$1-$2-$3 $4");
  return moment !== text && Date.parse(moment.replace(" ", "T")) > 0 ? moment : ""; // a clock never set says 0000:00:00
}
