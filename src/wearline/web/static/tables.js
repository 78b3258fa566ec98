// Tables that say so can be sorted by a click on a heading and narrowed by words; without this they stay as they are.
const value = (row, column) => {
  const cell = row.cells[column];
  const text = (cell?.dataset.value ?? cell?.textContent ?? "").trim();
  const number = Number(text.replace(/[^0-9.+-]/g, ""));
  return text !== "" && /^[\s0-9.,+-]+[^0-9]{0,8}$/.test(text) && Number.isFinite(number) ? number : text.toLocaleLowerCase();
};

const compare = (a, b) => {
  if (typeof a === typeof b) return a < b ? -1 : a > b ? 1 : 0;
  return typeof a === "number" ? -1 : 1;
};

function sortable(table) {
  const [body] = table.tBodies;
  [...table.tHead.rows[0].cells].forEach((heading, column) => {
    const words = heading.textContent.trim();
    if (!words || heading.querySelector("a, button")) return;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    heading.replaceChildren(button);
    heading.setAttribute("aria-sort", "none");
    button.addEventListener("click", () => {
      const down = heading.getAttribute("aria-sort") === "ascending";
      for (const other of table.tHead.rows[0].cells) if (other.hasAttribute("aria-sort")) other.setAttribute("aria-sort", "none");
      heading.setAttribute("aria-sort", down ? "descending" : "ascending");
      const rows = [...body.rows].map((row) => ({ row, key: value(row, column) }));
      rows.sort((a, b) => (down ? -1 : 1) * compare(a.key, b.key));
      body.append(...rows.map(({ row }) => row));
    });
  });
}

function narrowed(table) {
  const [body] = table.tBodies;
  const label = document.createElement("label");
  const input = document.createElement("input");
  const count = document.createElement("p");
  label.className = "field narrow no-print";
  label.textContent = table.dataset.filter;
  input.type = "search";
  input.autocomplete = "off";
  count.className = "small muted";
  count.setAttribute("role", "status");
  label.append(input);
  (table.closest(".scroll") ?? table).before(label, count);
  input.addEventListener("input", () => {
    const words = input.value.toLocaleLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of body.rows) {
      const text = row.textContent.toLocaleLowerCase();
      row.hidden = !words.every((word) => text.includes(word));
      shown += row.hidden ? 0 : 1;
    }
    count.textContent = words.length ? `${shown} / ${body.rows.length}` : "";
  });
}

for (const table of document.querySelectorAll("table[data-sort]")) sortable(table);
for (const table of document.querySelectorAll("table[data-filter]")) narrowed(table);
