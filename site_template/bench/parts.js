"use strict";
/* The pieces that screens are made of. No handler and no style is written into the page: the policy forbids both. */

const isThere = (one) => (one ?? false) !== false;

/* An element by its name and classes, `div.row.cells`: with attributes, and without. */
function tag(named, attributes, ...inside) {
  const [name, ...classes] = named.split(".");
  const made = document.createElement(name);
  if (classes[0]) made.className = classes.join(" ");
  if (name === "input") made.autocomplete = "off";
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value === true) made.setAttribute(key, "");
    else if (isThere(value)) made.setAttribute(key, value);
  }
  made.append(...inside.filter(isThere));
  return made;
}
const el = (named, ...inside) => tag(named, {}, ...inside);

const say = (words) => { document.getElementById("said").textContent = words; };
const button = (words, onclick, attributes = {}) => tag("button", { type: "button", onclick, ...attributes }, words);

/* Fields under a heading that is touched to show them. */
const folded = (words, open, ...fields) => tag("details", { open }, el("summary", words), ...fields);

/* Where it is said what is odd about a field. */
const oddBox = () => tag("div.odd", { role: "status" });
const sentences = (said) => said.filter(Boolean).map((words) => el("p", words));

let ids = 0;
const newId = () => `f${(ids += 1)}`;

/* A field under its label. */
function labelled(words, field, ...more) {
  field.id ||= newId();
  return el("div.field", tag("label", { for: field.id }, words), field, ...more);
}

/* A keypad of another language has a comma where the point is wanted: shown as it will be written. */
const withPoint = (input) => { if (/^\s*[+-]?\d*,\d*\s*$/.test(input.value)) input.value = input.value.replace(",", "."); };

/* Work that waits until the typing pauses: half a number is no odd number yet. What is pressed meanwhile stays where it is:
   a sentence that came over it would push it from under the finger. */
function soon(work) {
  let waiting;
  const wait = () => { clearTimeout(waiting); waiting = setTimeout(() => (document.querySelector(":active") ? wait : work)(), 400); };
  return wait;
}

/* A field with its label, bound to a path of the sheet. */
function textField(draft, path, label, options = {}) {
  const id = newId();
  const { in: root = draft.sheet, keep: save = () => keep(draft) } = options;
  const read = textAt(root, path);
  const field = tag(options.long ? "textarea" : "input", {
    id, name: path.join("."), autocapitalize: options.capitals ?? (options.long ? "sentences" : "off"), spellcheck: options.long ? "true" : "false",
    inputmode: options.mode, list: options.list, rows: options.long ? 3 : null,
    oninput: () => {
      if (options.unit) withPoint(field);
      putText(root, path, field.value.trim());
      save();
      later();
    },
  });
  const judged = options.odd ?? (options.unit && ((text) => unread(text, options.unit, { alone: true, example: options.example })));
  const odd = judged && oddBox();
  const look = () => {
    const text = field.value.trim();
    odd?.replaceChildren(...sentences([text && judged(text)]));
  };
  const later = soon(look);
  field.value = typeof read === "string" ? read : "";
  const hint = options.hint ? tag("small", { id: `${id}h` }, options.hint) : null;
  if (hint) field.setAttribute("aria-describedby", `${id}h`);
  look();
  return labelled(options.unit ? `${label}, ${options.unit}` : label, field, hint, odd);
}

/* A few words to choose from, one or several, as big buttons; one that stands may be pressed again to take it back. */
function choice(draft, path, label, words, options = {}) {
  const id = newId();
  const { in: root = draft.sheet, keep: save = () => keep(draft), several } = options;
  const chosen = () => [textAt(root, path) ?? []].flat();
  const press = (value) => {
    const [there, others] = [chosen().includes(value), several ? chosen().filter((one) => one !== value) : []];
    putText(root, path, several ? (there ? others : [...others, value]) : there ? "" : value);
    save();
    show();
  };
  const group = tag("div", { role: "group", "aria-labelledby": id, class: `choice ${options.kind ?? ""}` }, ...words.map((word) => {
    const [value, meaning] = [word].flat();
    return tag("button", { type: "button", value, onclick: () => press(value) }, el("b", options.shown?.(value) ?? value), meaning ? el("span", meaning) : null);
  }));
  const show = () => { for (const key of group.children) key.setAttribute("aria-pressed", String(chosen().includes(key.value))); };
  show();
  return el("div.field", tag("span", { id, class: "label" }, label), group);
}

/* A reading: one field, or several for repeats; unit, last value, limit beside it; what is odd under it. */
function readingField(draft, path, label, about) {
  const [id, box] = [newId(), el("div.reading")];
  const odd = oddBox();
  const values = () => [...box.querySelectorAll("input")].map((input) => input.value.trim()).filter(Boolean);
  const look = () => {
    const now = values();
    const said = new Set(now.flatMap((value) => unread(value, about.unit, { alone: now.length > 1, example: about.example }) ?? about.odd?.(value) ?? []));
    odd.replaceChildren(...sentences([...said]));
  };
  const later = soon(look);
  const store = () => {
    const now = values();
    putText(draft.sheet, path, now.length > 1 ? now : now[0] ?? "");
    keep(draft);
    later();
  };
  const add = (value, focus) => {
    const number = box.children.length + 1;
    const input = tag("input", {
      id: number === 1 ? id : null, inputmode: "decimal", name: path.join("."),
      "aria-label": `${label}${number > 1 ? `, reading ${number}` : ""}${about.unit ? `, ${about.unit}` : ""}`,
      oninput: () => { withPoint(input); store(); },
      onkeydown: (event) => { if (event.key === "Enter") { event.preventDefault(); nextField(input); } },
    });
    input.value = value;
    box.append(input);
    if (focus) input.focus();
  };
  const read = textAt(draft.sheet, path);
  for (const value of Array.isArray(read) ? read : [typeof read === "string" ? read : ""]) add(value, false);
  look();
  const words = button("abc", () => {
    const text = box.querySelector("input").getAttribute("inputmode") === "decimal";
    for (const input of box.querySelectorAll("input")) input.setAttribute("inputmode", text ? "text" : "decimal");
    box.querySelector("input").focus();
  }, { class: "small", "aria-label": `${label}: letters or digits` });
  const more = button("+1", () => add("", true), { class: "small", "aria-label": `${label}: another reading` });
  return el("div.field.measured", tag("label", { for: id }, label),
    el("div.row", box, about.unit ? el("span.unit", about.unit) : null, more, words),
    about.notes ? el("small", about.notes) : null, odd);
}

/* Enter goes on to the next field, as a keypad's own key does. */
function nextField(from) {
  const all = [...document.querySelectorAll("#bench input, #bench textarea, #bench .choice button, #bench nav button")];
  all[all.indexOf(from) + 1]?.focus();
}

/* What stands beside a field: the last reading and its sheet, the new range, the limit. */
function notesOf(of, last, decimals) {
  const fresh = of.new && of.new[0] !== null ? `new ${shownRange(of.new, decimals)}` : "";
  return [last ? `last ${last.written} (${last.sheet})` : "", fresh, ends(of, decimals)].filter(Boolean).join(" · ");
}

/* Figures with the digits that this dimension is read to. */
const shownRange = (range, decimals) => range.map((end) => end.toFixed(decimals)).join("–");
const ends = ({ limit }, decimals) => ["min", "max"].map((name, n) => limit && limit[n] !== null && `limit ${name} ${limit[n].toFixed(decimals)}`).filter(Boolean).join(", ");
