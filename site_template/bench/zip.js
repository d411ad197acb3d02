"use strict";
/* A zip of stored files (PKWARE's APPNOTE, 4.3 and 4.4), and the receipt by which the taking-in is known. */

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let bit = 0; bit < 8; bit += 1) c = c & 1 ? (c >>> 1) ^ 0xedb88320 : c >>> 1; // IEEE 802.3, as zips use it
  return c >>> 0;
});

function crc32(bytes) {
  let c = 0xffffffff;
  for (let at = 0; at < bytes.length; at += 1) c = CRC_TABLE[(c ^ bytes[at]) & 0xff] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

function record(signature, fields, name) {
  const size = fields.reduce((sum, [width]) => sum + width, 4);
  const view = new DataView(new ArrayBuffer(size));
  view.setUint32(0, signature, true);
  let at = 4;
  for (const [width, value] of fields) {
    if (width === 2) view.setUint16(at, value, true);
    else view.setUint32(at, value, true);
    at += width;
  }
  return [new Uint8Array(view.buffer), name];
}

/* files: [[path, Uint8Array]]; day: the sheet's, so that the same draft makes the same bytes. */
function makeZip(files, day) {
  const [year, month, date] = day.split("-").map(Number);
  const dosDay = ((year - 1980) << 9) | (month << 5) | date;
  const parts = [];
  const central = [];
  let offset = 0;
  for (const [path, bytes] of files) {
    const name = new TextEncoder().encode(path);
    const crc = crc32(bytes);
    const common = [[2, 20], [2, 0x0800], [2, 0], [2, 0], [2, dosDay], [4, crc], [4, bytes.length], [4, bytes.length], [2, name.length], [2, 0]];
    const local = record(0x04034b50, common, name);
    parts.push(...local, bytes);
    central.push(...record(0x02014b50, [[2, 0x031e], ...common, [2, 0], [2, 0], [2, 0], [4, (0o100644 << 16) >>> 0], [4, offset]], name));
    offset += local[0].length + name.length + bytes.length;
  }
  const size = central.reduce((sum, part) => sum + part.length, 0);
  const [end] = record(0x06054b50, [[2, 0], [2, 0], [2, files.length], [2, files.length], [4, size], [4, offset], [2, 0]], null);
  return new Blob([...parts, ...central, end], { type: "application/zip" });
}

const hex = (bytes) => Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
const sha256 = async (bytes) => new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));

const BASE32 = "abcdefghijklmnopqrstuvwxyz234567"; // RFC 4648, in lower case

/* Eight signs of the checksum over all files: what is typed in before a draft may go. */
async function receiptOf(files) {
  const sorted = [...files].sort(([one], [other]) => (one < other ? -1 : 1));
  const lines = [];
  for (const [path, bytes] of sorted) lines.push(`${hex(await sha256(bytes))}  ${path}\n`);
  const sum = await sha256(new TextEncoder().encode(lines.join("")));
  let bits = 0n;
  for (const byte of sum.slice(0, 5)) bits = (bits << 8n) | BigInt(byte);
  let code = "";
  for (let place = 35n; place >= 0n; place -= 5n) code += BASE32[Number((bits >> place) & 31n)];
  return `${code.slice(0, 4)}-${code.slice(4)}`;
}

const sameReceipt = (typed, wanted) => typed.toLowerCase().replace(/[\s-]/g, "") === wanted.replace("-", "");
