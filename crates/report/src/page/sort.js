"use strict";
for (const table of document.querySelectorAll("table[data-sort]")) {
  const body = table.tBodies[0];
  table.tHead.querySelectorAll("th").forEach((head, column) => {
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
      const compare = (a, b) => {
        const [x, y] = [of(a), of(b)].map((cell) => cell.dataset.value);
        if (x !== undefined && y !== undefined) return Number(x) - Number(y);
        if (x !== undefined || y !== undefined) return x === undefined ? 1 : -1;
        return of(a).textContent.localeCompare(of(b).textContent);
      };
      const rows = [...body.rows].sort(compare);
      if (down) rows.reverse();
      body.append(...rows);
    });
  });
}
document.documentElement.dataset.ready = "true";
