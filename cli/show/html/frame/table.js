"use strict";
for (const table of document.querySelectorAll("table.sortable")) {
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const heads = [...table.tHead.rows[0].cells];
  table.classList.add("sorts");
  const status = document.createElement("p");
  status.className = "aside";
  status.setAttribute("role", "status");
  heads.forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    head.append(button);
    const key = (row) => {
      const cell = row.cells[column];
      const own = cell.dataset.v;
      return own === undefined ? cell.textContent : Number(own);
    };
    button.addEventListener("click", () => {
      const sense = head.getAttribute("aria-sort") === "descending" ? 1 : -1;
      for (const other of heads) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", sense < 0 ? "descending" : "ascending");
      const by = (a, b) => {
        const [x, y] = [key(a), key(b)];
        if (typeof x === "number" && typeof y === "number") return sense * (x - y);
        return -sense * String(x).localeCompare(String(y), "en", { numeric: true });
      };
      body.append(...rows.sort(by));
    });
  });
  const field = document.createElement("label");
  field.className = "filter";
  const input = document.createElement("input");
  input.type = "search";
  field.append("Show rows that contain ", input);
  input.addEventListener("input", () => {
    const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of rows) {
      const text = row.textContent.toLowerCase();
      row.hidden = !words.every((word) => text.includes(word));
      shown += row.hidden ? 0 : 1;
    }
    status.textContent = words.length ? `${shown} of ${rows.length} rows` : "";
  });
  table.closest(".scroll").before(field, status);
}
