"use strict";

/** An element with attributes and children; texts become text, never markup. */
function element(name, attributes, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes || {})) {
    if (value !== null && value !== undefined && value !== false) {
      made.setAttribute(key, value === true ? "" : value);
    }
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
}

/** Numbers before texts, by size; empty cells last whichever way it goes. */
function compareCells(a, b, sign) {
  if (a === "" || b === "") {
    return (a === "") - (b === "");
  }
  const x = Number(a);
  const y = Number(b);
  if (Number.isFinite(x) && Number.isFinite(y)) {
    return sign * (x - y);
  }
  return sign * a.localeCompare(b, "en", { numeric: true });
}

/** Makes a head of a column a button that sorts the body. */
function sortByHead(head, body, columns, index) {
  const button = head.querySelector("button");
  button.addEventListener("click", () => {
    const rising = head.getAttribute("aria-sort") !== "ascending";
    for (const other of columns) {
      other.removeAttribute("aria-sort");
    }
    head.setAttribute("aria-sort", rising ? "ascending" : "descending");
    const rows = [...body.rows];
    const text = (row) => row.cells[index].textContent;
    rows.sort((a, b) => compareCells(text(a), text(b), rising ? 1 : -1));
    body.append(...rows);
  });
}

/** How a column is set: numbers in one line, long texts with room. */
function columnClass(part, n) {
  if (!part.columns[n].left) {
    return null;
  }
  return part.rows.some((cells) => String(cells[n]).length > 32) ? "left long" : "left";
}

function tableHead(column, sortable, set) {
  const unit = column.unit ? element("small", {}, `[${column.unit}]`) : null;
  const label = sortable ? element("button", { type: "button" }, column.head) : column.head;
  const named = column.head !== "" || unit;
  return element(named ? "th" : "td", { scope: named ? "col" : null, class: set }, label, unit);
}

function tableRow(part, cells) {
  const strong = !part.sortable && String(cells[0]).startsWith("= ");
  const made = cells.map((cell, n) => {
    const isHead = n === 0 && !part.sortable;
    return element(isHead ? "th" : "td", { scope: isHead ? "row" : null, class: columnClass(part, n) }, cell);
  });
  return element("tr", { class: strong ? "strong" : null }, ...made);
}

/** A table that scrolls within itself where it is wider than the page. */
function makeTable(part) {
  const heads = part.columns.map((column, n) => tableHead(column, part.sortable, columnClass(part, n)));
  const body = element("tbody", {}, ...part.rows.map((cells) => tableRow(part, cells)));
  const table = element("table", { class: part.pairs ? "pairs" : null }, element("caption", {}, part.caption));
  if (!part.pairs) {
    table.append(element("thead", {}, element("tr", {}, ...heads)));
  }
  table.append(body);
  if (part.sortable) {
    heads.forEach((head, n) => sortByHead(head, body, heads, n));
  }
  const tall = part.rows.length > 24 ? " tall" : "";
  const scroll = { class: `scroll${tall}`, tabindex: "0", role: "region", "aria-label": `Table: ${part.caption}` };
  return element("figure", { class: "table" }, element("div", scroll, table));
}
