"use strict";
// Sorting and filtering of tables. The page says everything without it.
for (const table of document.querySelectorAll("table.figures")) {
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const heads = [...table.tHead.rows[0].cells];
  const key = (cell) => cell.dataset.key ?? cell.textContent.trim().toLowerCase();
  const compare = (column, numeric) => (one, two) => {
    const [a, b] = [one, two].map((row) => key(row.cells[column]));
    if (numeric) {
      return (a === "" ? -Infinity : Number(a)) - (b === "" ? -Infinity : Number(b)) || 0;
    }
    return a.localeCompare(b, "en");
  };
  if (table.dataset.sorted === "by-reader" && rows.length > 1) {
    heads.forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "sort";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const numeric = head.classList.contains("number");
        const before = head.getAttribute("aria-sort");
        const down = before === null ? numeric : before === "ascending";
        heads.forEach((other) => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        const sorted = [...rows].sort(compare(column, numeric));
        body.append(...(down ? sorted.reverse() : sorted));
      });
    });
  }
  if (table.dataset.filtered === "yes") {
    const box = document.createElement("div");
    box.className = "filter";
    const label = document.createElement("label");
    label.textContent = "Show rows with ";
    const input = document.createElement("input");
    input.type = "search";
    label.append(input);
    const status = document.createElement("span");
    status.setAttribute("role", "status");
    box.append(label, status);
    table.closest(".scroll").before(box);
    input.addEventListener("input", () => {
      const wanted = input.value.trim().toLowerCase();
      let shown = 0;
      for (const row of rows) {
        row.hidden = !row.textContent.toLowerCase().includes(wanted);
        shown += row.hidden ? 0 : 1;
      }
      status.textContent = wanted ? `${shown} of ${rows.length} rows` : "";
    });
  }
}
