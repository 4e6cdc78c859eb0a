"use strict";
for (const table of document.querySelectorAll("table[data-sort]")) {
  const body = table.tBodies[0];
  [...table.tHead.rows[0].cells].forEach((head, column) => {
    if (head.tagName !== "TH") return;
    const button = document.createElement("button");
    button.type = "button";
    button.title = "Sort by this column";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      table.tHead.querySelectorAll("th").forEach((other) => other.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const of = (row) => row.cells[column];
      // Numbers, then words, then what is blank: whichever way.
      const kind = (cell) => (cell.dataset.value !== undefined ? 0 : cell.textContent.trim() ? 1 : 2);
      const compare = (a, b) => {
        const [x, y] = [of(a), of(b)];
        if (kind(x) !== kind(y)) return kind(x) - kind(y);
        const order = kind(x) ? x.textContent.localeCompare(y.textContent) : Number(x.dataset.value) - Number(y.dataset.value);
        return down ? -order : order;
      };
      body.append(...[...body.rows].sort(compare));
    });
  });
}
// A link into a folded section opens it; paper has what was asked for, and what must be read with it.
const unfold = () => document.getElementById(decodeURIComponent(location.hash.slice(1)))?.querySelector("details")?.setAttribute("open", "");
addEventListener("hashchange", unfold);
unfold();
let folded = [];
addEventListener("beforeprint", () => {
  folded = [...document.querySelectorAll(".printed > details:not([open])")];
  folded.forEach((details) => details.setAttribute("open", ""));
});
addEventListener("afterprint", () => folded.forEach((details) => details.removeAttribute("open")));
document.documentElement.dataset.ready = "true";
