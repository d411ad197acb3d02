"use strict";
/* What was done to a part, and how far a fastening was tightened: the lines of `work` and `torque` of a sheet. */

/* The lines of work of a place; the last is blank, and a line is written once it says something. */
function workFields(draft, position, set) {
  const places = position.members.map((member) => (set ? position.id + MEMBER_JOIN + member.id : position.id));
  const serials = position.members.flatMap((member, n) => [member.part, textAt(draft.sheet, ["positions", position.id, "part", ...(set ? [member.id] : [])])]).filter(Boolean);
  const mine = (draft.sheet.work ?? []).filter((line) => places.includes(line.position) || serials.includes(line.part));
  const box = el("div");
  const keepWork = () => {
    const others = (draft.sheet.work ?? []).filter((line) => !mine.includes(line));
    putText(draft.sheet, ["work"], [...others, ...mine.filter((line) => Object.keys(line).some((key) => key !== "position"))]);
    keep(draft);
  };
  const add = () => {
    const line = set ? {} : { position: position.id };
    mine.push(line);
    box.append(lineFields(line));
  };
  const lineFields = (line) => {
    const odd = oddBox();
    const judge = () => odd.replaceChildren(...(Object.keys(line).length > 1 && !(line.did && (line.position || line.part)) ? [el("p", set ? "Say which one, and what was done to it." : "Say what was done.")] : []));
    const bound = { in: line, keep: () => { keepWork(); judge(); } };
    judge();
    return el("div", {},
      set ? choice(draft, ["position"], "Which one", places, { ...bound, shown: (place) => place.split(MEMBER_JOIN)[1] }) : null,
      textField(draft, ["did"], "What was done", { ...bound, hint: "ground, lapped, honed …" }),
      position.dimensions.length ? choice(draft, ["dimensions"], "Measured anew from here", position.dimensions.map((one) => one.id), { ...bound, several: true, shown: (id) => position.dimensions.find((one) => one.id === id).name }) : null,
      typeof line.size === "object" ? null : textField(draft, ["size"], "Size now, from standard", { ...bound, unit: "mm", example: "-0.25" }), odd);
  };
  for (const line of mine) box.append(lineFields(line));
  if (!mine.length) add();
  return folded("Work done to it", mine.some((line) => line.did), box, button("More work", add, { class: "small" }));
}

/* Each fastening that this engine had on a sheet, and others by a name of their own. */
function torqueScreen(draft) {
  const names = new Set([...FORM.torque.map(([name]) => name), ...Object.keys(draft.sheet.torque ?? {})]);
  const fieldOf = (name) => {
    const last = FORM.torque.find(([one]) => one === name);
    return textField(draft, ["torque", name], name.replaceAll("-", " "), {
      hint: last ? `last ${last[1]} (${last[2]})` : null, odd: (text) => /^[\d.,\s]+$/.test(text) && "Its unit is missing: Nm, lb-ft, mm stretch.",
    });
  };
  const box = el("div", ...[...names].map(fieldOf));
  const name = el("input");
  return [box, labelled("Another fastening", name), button("Add it", () => {
    const own = name.value.trim();
    if (!own || names.has(own)) return;
    names.add(own);
    box.append(fieldOf(own));
    name.value = "";
    box.lastChild.querySelector("input").focus();
  })];
}
