/* What a page does besides lying there: photos open large, and dates that have passed say so.

   In: links `a[data-large]` (the href is the large picture, data-large its caption) and `time[data-due]` (datetime is the
   day something falls due). Without this script a photo's link opens the picture itself and dates stand as written.
   No handler is written into a page, nothing is fetched but the picture asked for, nothing is kept. */

(() => {
  "use strict";

  /* ---------- photos ---------- */

  let viewer = null; // made at the first photo that is opened
  let links = []; // the photos of the page, in reading order
  let shown = 0; // which of them is open
  let opener = null; // where the focus returns to

  const element = (name, words, attributes = {}) => {
    const made = document.createElement(name);
    made.textContent = words;
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };

  const makeViewer = () => {
    const dialog = element("dialog", "", { class: "photo-viewer", "aria-label": "Photo" });
    const picture = element("img", "", { alt: "" });
    const caption = element("p", "", { "aria-live": "polite" });
    const keys = element("div", "", { class: "photo-keys" });
    const before = element("button", "Previous", { type: "button" });
    const after = element("button", "Next", { type: "button" });
    const close = element("button", "Close", { type: "button" });
    before.addEventListener("click", () => show(shown - 1));
    after.addEventListener("click", () => show(shown + 1));
    close.addEventListener("click", () => dialog.close());
    dialog.addEventListener("keydown", (event) => {
      if (event.key === "ArrowLeft") show(shown - 1);
      else if (event.key === "ArrowRight") show(shown + 1);
      else return; // Escape closes a dialog by itself
      event.preventDefault();
    });
    dialog.addEventListener("click", (event) => {
      if (event.target === dialog) dialog.close(); // beside the picture
    });
    dialog.addEventListener("close", () => {
      picture.removeAttribute("src");
      if (opener) opener.focus();
    });
    keys.append(before, after, close);
    dialog.append(picture, caption, keys);
    document.body.append(dialog);
    return { dialog, picture, caption, before, after, close };
  };

  const show = (index) => {
    if (index < 0 || index >= links.length) return;
    shown = index;
    const link = links[index];
    const small = link.querySelector("img");
    viewer.picture.src = link.href;
    viewer.picture.alt = small ? small.alt : link.dataset.large;
    const place = links.length > 1 ? ` (${index + 1} of ${links.length})` : "";
    viewer.caption.textContent = link.dataset.large + place;
    viewer.before.disabled = index === 0;
    viewer.after.disabled = index === links.length - 1;
    // A button that cannot go on would lose the focus, and with it the arrow keys.
    if ([viewer.before, viewer.after].some((one) => one.disabled && one === document.activeElement)) viewer.close.focus();
  };

  document.addEventListener("click", (event) => {
    if (event.defaultPrevented || event.button !== 0) return;
    if (event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return; // a new tab was asked for
    const link = event.target instanceof Element ? event.target.closest("a[data-large]") : null;
    if (!link || typeof HTMLDialogElement === "undefined") return;
    event.preventDefault();
    if (!viewer || !viewer.dialog.isConnected) viewer = makeViewer();
    links = Array.from(document.querySelectorAll("a[data-large]"));
    opener = link;
    show(links.indexOf(link));
    viewer.dialog.showModal();
    viewer.close.focus();
  });

  /* ---------- dates ---------- */

  const today = () => {
    const now = new Date();
    const two = (number) => String(number).padStart(2, "0");
    return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  };

  // Days as written, 2027-04-24, stand in order as text; the day itself has not passed until it is over.
  const markPassed = () => {
    const day = today();
    for (const due of document.querySelectorAll("time[data-due][datetime]")) {
      const passed = due.getAttribute("datetime").slice(0, 10) < day;
      if (passed && !due.querySelector(".passed")) due.append(" ", element("b", "passed", { class: "passed" }));
    }
  };

  // The frame gives its search the role of a dialog, but no name to be read out.
  const nameSearch = () => {
    for (const search of document.querySelectorAll(".md-search[role=dialog]")) search.setAttribute("aria-label", "Search");
  };

  // Opened from a disk the frame has no search: its button would lead to nothing.
  const hideSearch = () => {
    if (location.protocol !== "file:") return;
    for (const button of document.querySelectorAll(".md-header [for=__search]")) button.hidden = true;
  };

  const look = () => {
    markPassed();
    nameSearch();
    hideSearch();
  };

  // The frame may change pages without loading anew and then announces each of them; else once is enough.
  if (window.document$ && typeof window.document$.subscribe === "function") window.document$.subscribe(look);
  else if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", look);
  else look();
})();
