"use strict";
/* One place of the engine on one screen: what is there, what is measured, graded, found, decided, and its photos. */

const MEMBER_JOIN = "/"; // apex-seals-1/a2: one member of a set

function placeScreen(draft, position) {
  const set = position.members.length > 1 || position.members[0].id !== "";
  const base = ["positions", position.id];
  const line = textAt(draft.sheet, base) ?? {}; // what was written before the sheet's kind was corrected is shown, too
  const inside = [];
  if (!position.whole) inside.push(...partFields(draft, position, base, set));
  for (const dimension of position.dimensions) inside.push(dimensionFields(draft, position, base, dimension, set));
  if (draft.kind !== "build" || line.observed) inside.push(...position.observe.map((observed) => gradeField(draft, position, base, observed, set)));
  if (position.dimensions.length && FORM.instruments.length) inside.push(gaugeFields(draft, position));
  inside.push(textField(draft, [...base, "finding"], "Finding", { long: true, hint: "In your own words; the owner may read it." }));
  inside.push(photoFields(draft, position.id, position.name));
  if ((draft.kind === "teardown" || line.decision || line.because || line.why) && !position.whole) inside.push(...decisionFields(draft, base));
  if ((draft.kind !== "inspection" || draft.sheet.work) && !position.whole) inside.push(workFields(draft, position, set));
  if (set && (draft.kind === "teardown" || isDiffering(draft, position))) inside.push(differing(draft, position));
  return inside;
}

function partFields(draft, position, base, set) {
  const went = { build: "goes in", teardown: "came out", inspection: "is here" }[draft.kind];
  const fields = position.members.map((member) => {
    const path = set ? [...base, "part", member.id] : [...base, "part"];
    const field = textField(draft, path, set ? `Serial ${member.id}` : "Serial", {
      capitals: "characters", hint: member.part ? `${member.stay ? `${member.part}, ${member.stay}` : `Fitted here by the record: ${member.part}`}. If something else ${went}, write its serial.` : null,
    });
    const input = field.querySelector("input");
    if (member.part) {
      field.append(button(`${member.part} ${went}`, () => { input.value = member.part; input.dispatchEvent(new Event("input")); }, { class: "small" }));
    }
    return field;
  });
  if (draft.kind === "build" || textAt(draft.sheet, [...base, "origin"])) fields.push(choice(draft, [...base, "origin"], "Goes in", FORM.origins));
  return fields.length > 1 ? [folded("Serials", draft.kind === "build", ...fields)] : fields;
}

function dimensionFields(draft, position, base, dimension, set) {
  const rows = position.members.flatMap((member) => {
    const of = dimension.of.find((one) => one.member === member.id) ?? dimension.of[0];
    const stations = dimension.stations.length ? dimension.stations : [""];
    return stations.map((station) => {
      const path = [...base, "measured", dimension.id, ...(set ? [member.id] : []), ...(station ? [station] : [])];
      const label = [set ? member.id : "", station].filter(Boolean).join(", ") || dimension.name;
      const last = of.last[station] ?? (station ? undefined : of.last[""]);
      const samePart = () => {
        const typed = textAt(draft.sheet, set ? [...base, "part", member.id] : [...base, "part"]);
        return !typed || typed === member.part;
      };
      return readingField(draft, path, label, {
        unit: dimension.unit, notes: notesOf(of, last, dimension.decimals),
        odd: (text) => oddities(text, dimension, of, station, samePart()),
      });
    });
  });
  if (rows.length === 1) return rows[0];
  return el("fieldset", el("legend", `${dimension.name}${dimension.instrument ? `, ${dimension.instrument}` : ""}`), ...rows);
}

/* Which gauge read it, where the family names none, or another was at hand. */
const gaugeFields = (draft, { kind, dimensions }) => folded("Gauges", false, ...dimensions.map(({ id, name, instrument }) =>
  choice(draft, ["instruments", `${kind}.${id}`], instrument ? `${name}, else ${instrument}` : name, FORM.instruments)));

const gradesOf = (observed) => ["0", "1", "2", "3", "4"].map((grade) => [grade, observed.grades[grade] ?? ""]);

/* Of a set a grade is every member's, unless the set is opened and each has its own. */
function gradeField(draft, position, base, observed, set) {
  const path = [...base, "observed", observed.id];
  if (!set) return choice(draft, path, observed.name, gradesOf(observed), { kind: "grades" });
  const box = el("div");
  let each = typeof textAt(draft.sheet, path) === "object";
  const show = () => box.replaceChildren(
    ...(each ? position.members.map((member) => choice(draft, [...path, member.id], `${observed.name}, ${member.id}`, gradesOf(observed), { kind: "grades" }))
      : [choice(draft, path, `${observed.name}, all`, gradesOf(observed), { kind: "grades" })]),
    button(each ? "One grade for all" : "Each by itself", () => {
      const now = textAt(draft.sheet, path);
      if (each && now && !confirm("Their grades go, and one takes their place.")) return;
      each = !each;
      // what was said of all is said of each; where nothing was said, nothing is written
      if (now) putText(draft.sheet, path, each ? Object.fromEntries(position.members.map((member) => [member.id, now])) : "");
      keep(draft);
      show();
    }, { class: "small" }),
  );
  show();
  return box;
}

const decisionFields = (draft, base) => [
  choice(draft, [...base, "decision"], "Decision", FORM.decisions),
  choice(draft, [...base, "because"], "Because", FORM.causes),
  textField(draft, [...base, "why"], "Why", { long: true }),
];

/* What is said of one member alone; open where something is. */
const memberBase = (position, { id }) => ["positions", position.id + MEMBER_JOIN + id];
const isSaid = (draft, position) => (member) => textAt(draft.sheet, memberBase(position, member)) !== undefined;
const isDiffering = (draft, position) => position.members.some(isSaid(draft, position));

function differing(draft, position) {
  return folded("One of the set differs", isDiffering(draft, position), ...position.members.map((member) => {
    const [{ id }, base] = [member, memberBase(position, member)];
    return folded(id, isSaid(draft, position)(member), textField(draft, [...base, "finding"], `Finding, ${id}`, { long: true }),
      choice(draft, [...base, "decision"], `Decision, ${id}`, FORM.decisions), choice(draft, [...base, "because"], `Because, ${id}`, FORM.causes));
  }));
}

/* ---------- photos of a place ---------- */

function photoFields(draft, place, name) {
  const list = tag("ul.photos", { "data-place": `${draft.id}/${place}` });
  const view = tag("input", { placeholder: "loaded side, face, plug side" });
  const input = tag("input", {
    type: "file", accept: "image/*", multiple: true, id: newId(), class: "file",
    onchange: async () => {
      const files = [...input.files];
      input.value = "";
      say(`${files.length} ${files.length === 1 ? "photo is" : "photos are"} being kept…`);
      try {
        await addPhotos(draft, place, view.value.trim(), files);
        say(live.get(draft.id)?.failed ? "" : "Kept.");
      } catch (trouble) {
        say(`${trouble.message}.`);
      }
      const now = document.querySelector(".photos"); // the screen may be another, or the same one anew
      showPhotos(draft, place, now?.dataset.place === `${draft.id}/${place}` ? now : list);
    },
  });
  showPhotos(draft, place, list);
  return tag("section", { class: "photo-box" }, el("h3", `Photos, ${name.toLowerCase()}`),
    labelled("View", view),
    tag("label", { for: input.id, class: "key" }, "Take or choose photos"), input, list);
}

async function showPhotos(draft, place, list) {
  const mine = draft.photos.filter((photo) => photo.place === place);
  const rows = await Promise.all(mine.map(async (photo) => {
    const blob = await readPhoto(draft.id, photo.n);
    const picture = tag("img", { alt: photo.view || "photo", width: 160 });
    if (blob) picture.src = URL.createObjectURL(blob);
    picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
    const bound = (key, label) => {
      const field = tag("input", { oninput: () => { photo[key] = field.value; keep(draft); } });
      field.value = photo[key] ?? "";
      return labelled(label, field);
    };
    return el("li", picture, el("div", bound("view", "View"), bound("caption", "Caption"),
      choice(draft, ["crew_only"], "For the crew alone", ["yes"], { in: photo }),
      button("Remove", async () => {
        if (!confirm("Remove this photo from the sheet? It is gone from here then.")) return;
        draft.photos = draft.photos.filter((other) => other !== photo);
        await keep(draft);
        if (!live.get(draft.id)?.failed) await dropPhoto(draft.id, photo.n); // the draft that is kept may still name it
        showPhotos(draft, place, list);
      }, { class: "small" })));
  }));
  list.replaceChildren(...rows);
}

/* ---------- clearances that were measured directly, and tests ---------- */

function fitsScreen(draft) {
  const fields = FORM.fits.map((fit) => {
    const [of] = fit.of;
    return readingField(draft, ["fits", fit.id], fit.name, {
      unit: fit.unit, notes: notesOf(of, of.last[""], fit.decimals), odd: (text) => oddities(text, fit, of, "", true),
    });
  });
  return [el("p", "Only what was measured directly, with a feeler or a plastic gauge; what two readings give is worked out."), ...fields];
}

function testsScreen(draft) {
  return FORM.tests.map((test) => {
    const base = ["tests", test.id];
    const head = test.head.map((one) => textField(draft, [...base, one.id], one.name, { mode: "decimal", ...one }));
    const rows = test.rows.map((row) => chamberFields(draft, test, row));
    const marked = test.rows.some((row) => row.chambers > 1)
      ? [choice(draft, [...base, "faces"], "Faces are marked, in order from the mark", ["marked"])] : [];
    return el("section", el("h3", `${test.name}${test.at ? `, judged at ${test.at} rpm` : ""}`), ...head, ...rows, ...marked);
  });
}

function chamberFields(draft, test, row) {
  const path = ["tests", test.id, row.id];
  const read = textAt(draft.sheet, path);
  const typed = typeof read === "string" ? [read] : read ?? []; // a list, or a map of faces
  const cells = Array.from({ length: row.chambers }, (_, n) => typed[n] ?? typed[`face-${n + 1}`] ?? "");
  const odd = oddBox();
  const look = () => {
    const now = inputs.map((one) => one.value.trim());
    const odds = now.map((text) => text && unread(text, null, { alone: row.chambers > 1, example: "812" }));
    odd.replaceChildren(...sentences([...odds, now.some(Boolean) && now.includes("") && HALF_READ]));
  };
  const later = soon(look);
  const inputs = cells.map((cell, n) => {
    const input = tag("input", {
      inputmode: "decimal", "aria-label": `${test.name}, ${row.name}${row.chambers > 1 ? `, ${n + 1}` : ""}`,
      oninput: () => {
        withPoint(input);
        const now = inputs.map((one) => one.value.trim());
        const filled = now.filter(Boolean).length;
        const value = row.chambers === 1 ? now[0] : !filled ? "" : filled === now.length ? now
          : Object.fromEntries(now.map((text, place) => [`face-${place + 1}`, text]).filter(([, text]) => text));
        putText(draft.sheet, path, value);
        keep(draft);
        later();
      },
    });
    input.value = cell;
    return input;
  });
  look();
  return el("div.field.measured", el("span.label", row.name), el("div.row.cells", ...inputs, test.unit ? el("span.unit", test.unit) : null),
    row.last.length ? el("small", `last ${row.last.join(", ")}`) : null, odd);
}
