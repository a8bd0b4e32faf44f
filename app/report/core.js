"use strict";

const page = JSON.parse(document.getElementById("data").textContent);

function paragraphs(texts) {
  return texts.map((text) => element("p", {}, text));
}

/** A value with what stands below it. */
function makeCard(card) {
  const list = element("dl", {});
  for (const figure of card.figures) {
    const note = figure.note ? element("small", {}, figure.note) : null;
    list.append(element("div", {}, element("dt", {}, figure.label), element("dd", {}, figure.value.replace(/^-/, "−"), note)));
  }
  const mark = card.best ? element("span", {}, "best of these") : null;
  return element("article", { class: card.best ? "card best" : "card" }, element("h3", {}, card.title, mark), list);
}

/** A picture for light and for dark pages; the style shows one of them. */
function makeImage(choice) {
  return [element("img", { class: "on-light", src: choice.light, alt: choice.alt }),
    element("img", { class: "on-dark", src: choice.dark, alt: choice.alt })];
}

const pictureTitles = {
  tissue: "Tissues", sar: "Specific absorption rate", surface_ring: "Power out of the body, around it",
  power_flow: "Power flow", snapshot: "Moments", spacetime: "Place and time",
};

/** On narrow screens a picture fits, and grows to where its words can be read. */
function makeEnlarger(frame) {
  const button = element("button", { type: "button", class: "enlarge", "aria-pressed": "false" }, "Enlarge");
  button.addEventListener("click", () => button.setAttribute("aria-pressed", String(frame.classList.toggle("large"))));
  return button;
}

/** Pictures of one kind, of which a row of buttons shows one. */
function makePictures(part) {
  const title = pictureTitles[part.name] || `Size of ${part.name}`;
  const frame = element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": `Picture: ${title}` }, ...makeImage(part.choices[0]));
  const figure = element("figure", { class: "picture" }, element("figcaption", {}, title));
  if (part.choices.length > 1) {
    const buttons = part.choices.map((choice, n) => {
      const button = element("button", { type: "button", "aria-pressed": String(n === 0) }, choice.name || `${n + 1}`);
      button.addEventListener("click", () => {
        buttons.forEach((other) => other.setAttribute("aria-pressed", String(other === button)));
        frame.replaceChildren(...makeImage(choice));
      });
      return button;
    });
    figure.append(element("div", { class: "choices", role: "group", "aria-label": "Which picture" }, ...buttons));
  }
  figure.append(frame, makeEnlarger(frame));
  return figure;
}

function makeRemarks(remarks) {
  return element("ul", { class: "remarks" }, ...remarks.map(([label, text]) => element("li", {}, label ? element("b", {}, `${label}: `) : null, text)));
}

/** The parts of a section in their order: text in the column, figures wide. */
function makeSection(part) {
  const column = element("div", { class: "column" }, element("h2", { id: `${part.id}-head` }, part.title));
  if (part.caution) {
    column.append(element("p", { class: "caution" }, element("strong", {}, "Caution"), " ", page.caution));
  }
  column.append(...paragraphs(part.text));
  const wide = element("div", { class: "wide" });
  if (part.film) {
    wide.append(makeFilm(part.film));
  }
  wide.append(...part.pictures.map(makePictures));
  const charts = part.charts.map(makeChart);
  wide.append(charts.length > 1 ? element("div", { class: "pair" }, ...charts) : element("div", {}, ...charts));
  wide.append(...part.tables.map(makeTable));
  const after = element("div", { class: "column" });
  if (part.remarks) {
    after.append(makeRemarks(part.remarks));
  }
  if (part.listing !== undefined) {
    after.append(element("pre", { tabindex: "0", role: "region", "aria-label": `Text: ${part.title}` }, part.listing));
  }
  return element("section", { class: "part", id: part.id, "aria-labelledby": `${part.id}-head` }, column, wide, after);
}

/** Stacked shares hide what is small: the same once more on a logarithmic scale. */
function withSmallShares(part) {
  for (const chart of [...part.charts]) {
    if (chart.type === "stack") {
      const colors = page.sections.flatMap((section) => section.charts).find((other) => other.series.length === chart.categories.length && other.type !== "stack");
      part.charts.push({
        type: "groups", name: "The same, on a logarithmic scale", unit: chart.unit,
        alt: `${chart.alt}, on a logarithmic scale`, categories: chart.series.map((series) => series.name),
        series: chart.categories.map((name, n) => ({
          name, color: colors ? colors.series[n].color : ["#17666e", "#79c9ce"], values: chart.series.map((series) => series.values[n]),
        })),
      });
    }
  }
  return part;
}

function drawAll(printing) {
  for (const one of drawn) {
    one.draw(lookNow(printing));
  }
}

function build() {
  document.getElementById("title").textContent = page.title;
  document.getElementById("subtitle").textContent = page.subtitle;
  document.getElementById("question").textContent = page.question;
  document.getElementById("program").textContent = `Made by ${page.program}.`;
  document.getElementById("answer-text").append(...paragraphs(page.answer));
  document.getElementById("cards").append(...page.cards.map(makeCard));
  document.getElementById("contents").append(...page.sections.map((part) => element("li", {}, element("a", { href: `#${part.id}` }, part.title))));
  document.getElementById("sections").append(...page.sections.map(withSmallShares).map(makeSection));
  drawAll(false);
}

build();
let resizing = null;
window.addEventListener("resize", () => {
  clearTimeout(resizing);
  resizing = setTimeout(() => drawAll(false), 120);
});
window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => drawAll(false));
window.addEventListener("beforeprint", () => drawAll(true));
window.addEventListener("afterprint", () => drawAll(false));
Promise.all(drawn.map((one) => one.ready)).then(() => { document.body.dataset.ready = "yes"; });
