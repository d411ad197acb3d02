/* Search over all pages of the site, from a disk as well as from a server: nothing is fetched but the site's own index, as
   a script, when the field is first used. In: window.enginePagesIndex, [way, page, heading, text] a section.
   Arrow keys walk through what was found, Escape leaves it. Without this script there is no field. */

(() => {
  "use strict";
  const MOST = 30; // sections shown
  const AROUND = 70; // letters before and behind what was found
  const box = document.querySelector(".plain-search");
  const element = (name, attributes = {}, words = "") => {
    const made = Object.assign(document.createElement(name), attributes);
    made.textContent = words;
    return made;
  };
  const form = element("form", { role: "search" });
  const label = element("label", {}, "Search");
  const field = element("input", { type: "search", autocomplete: "off", spellcheck: false });
  const panel = element("div", { className: "plain-found", hidden: true });
  const count = element("p", { role: "status" });
  const list = element("ol");
  panel.append(count, list);
  label.append(field);
  form.append(label);
  box.append(form, panel);

  const load = () => {
    if (window.enginePagesIndex || document.getElementById("search-index")) return;
    document.head.append(element("script", { src: box.dataset.index, onload: show, id: "search-index" }));
  };

  const asked = () => field.value.toLowerCase().split(/\s+/).filter(Boolean);
  const rank = ([, page, heading, text], words) => {
    let sum = 0;
    for (const word of words) {
      const places = [page, heading, text].map((one) => one.toLowerCase().indexOf(word));
      if (places.every((place) => place < 0)) return 0;
      sum += (places[0] === 0 ? 9 : places[0] > 0 ? 6 : 0) + (places[1] >= 0 ? 4 : 0) + (places[2] >= 0 ? 1 : 0);
    }
    return sum;
  };

  const around = (text, words) => {
    const line = element("span");
    const at = Math.max(0, Math.min(...words.map((word) => text.toLowerCase().indexOf(word)).filter((place) => place >= 0), text.length));
    const word = words.find((one) => text.toLowerCase().startsWith(one, at)) || "";
    const end = at + word.length;
    if (word) line.append(text.slice(Math.max(0, at - AROUND), at).replace(/^\S*(?=\s)/, at > AROUND ? "…" : "$&"), element("mark", {}, text.slice(at, end)));
    const [from, to] = word ? [end, end + AROUND] : [0, 2 * AROUND];
    line.append(to < text.length ? text.slice(from, to).replace(/\s*\S*$/, " …") : text.slice(from));
    return line;
  };

  function show() {
    const words = asked();
    panel.hidden = !words.length || !window.enginePagesIndex;
    if (panel.hidden) return;
    const found = window.enginePagesIndex.map((one) => [rank(one, words), one]).filter(([sum]) => sum).sort((a, b) => b[0] - a[0]);
    count.textContent = found.length > MOST ? `${found.length} places, the first ${MOST}` : found.length ? `${found.length} found` : "nothing found";
    list.replaceChildren(...found.slice(0, MOST).map(([, [way, page, heading, text]]) => {
      const link = element("a", { href: box.dataset.top + way });
      link.append(element("b", {}, heading && heading !== page ? `${page}: ${heading}` : page), around(text, words));
      const item = element("li");
      item.append(link);
      return item;
    }));
  }

  field.addEventListener("focus", load);
  field.addEventListener("input", show);
  form.addEventListener("submit", (event) => { event.preventDefault(); list.querySelector("a")?.click(); });
  box.addEventListener("keydown", (event) => {
    const stops = [field, ...list.querySelectorAll("a")];
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (event.key === "Escape") { panel.hidden = true; field.value = ""; field.focus(); }
    else if (step && !panel.hidden) { event.preventDefault(); stops[Math.min(Math.max(stops.indexOf(document.activeElement) + step, 0), stops.length - 1)].focus(); }
  });
  document.addEventListener("click", (event) => { if (!box.contains(event.target)) panel.hidden = true; });
})();
