"use strict";

/** Every chart and film of the page; each has draw(look). */
const drawn = [];

const textFont = 'ui-sans-serif, system-ui, "Segoe UI", "Helvetica Neue", "Noto Sans", "Liberation Sans", "DejaVu Sans", sans-serif';

/** Colours of the page as it is now; `shade` is the place in a pair of colours. */
function lookNow(printing) {
  const dark = !printing && window.matchMedia("(prefers-color-scheme: dark)").matches;
  return dark
    ? { shade: 1, ink: "#e8eaee", soft: "#a9aeb9", line: "#3e424c", paper: "#181a1f" }
    : { shade: 0, ink: "#1c1e24", soft: "#555a64", line: "#dee1e6", paper: "#ffffff" };
}

function numberText(value) {
  return value === null || value === undefined ? "–" : String(Number(value.toPrecision(4))).replace("-", "−");
}

function finiteValues(lists) {
  return lists.flat().filter((value) => typeof value === "number" && Number.isFinite(value));
}

function textStyle(look, size = 13) {
  return { color: look.soft, fontSize: size, fontFamily: textFont };
}

function tooltip(look, more) {
  return {
    confine: true,
    transitionDuration: 0,
    backgroundColor: look.paper,
    borderColor: look.line,
    textStyle: { color: look.ink, fontFamily: textFont, fontSize: 13 },
    ...more,
  };
}

/** Light or dark letters, whichever can be read on a colour. */
function inkOn(color) {
  const [r, g, b] = [1, 3, 5].map((at) => Number.parseInt(color.slice(at, at + 2), 16));
  return 0.299 * r + 0.587 * g + 0.114 * b > 140 ? "#1c1e24" : "#ffffff";
}

const sideNames = { 0: "left", 90: "front", 180: "right", 270: "back" };

function spokeName(angle, narrow) {
  const side = sideNames[angle];
  if (angle === 360 || (narrow && side)) {
    return angle === 360 ? "" : side;
  }
  return side ? `${side} ${angle}°` : `${angle}°`;
}

/** Circles of 10 or 20 dB, of which the innermost is at most `span` below the outermost. */
function polarRange(part) {
  const levels = finiteValues(part.series.map((series) => series.level));
  if (part.zero || levels.length === 0) {
    levels.push(0);
  }
  const high = 10 * Math.ceil(Math.max(...levels) / 10);
  const low = Math.max(10 * Math.floor(Math.min(...levels) / 10), high - part.span);
  return { low: low < high ? low : high - 10, high };
}

function polarSeries(part, series, range, look) {
  const points = series.angle.map((angle, n) => [series.level[n] === null ? null : Math.max(series.level[n], range.low), angle]);
  points.push([points[0][0], points[0][1] + 360]);
  return {
    name: series.name,
    type: "line",
    coordinateSystem: "polar",
    showSymbol: false,
    data: points,
    lineStyle: { width: 2.2, color: series.color[look.shade] },
    itemStyle: { color: series.color[look.shade] },
  };
}

function circleStep(range) {
  return range.high - range.low > 50 ? 20 : 10;
}

/** The levels of the circles, between two spokes. */
function circleNames(range, look) {
  const data = [];
  for (let level = range.low; level <= range.high; level += circleStep(range)) {
    data.push({ value: [level, 75], label: { formatter: numberText(level) } });
  }
  return {
    name: "circles", type: "scatter", coordinateSystem: "polar", data, symbolSize: 1, silent: true, z: 5, itemStyle: { color: "transparent" },
    label: { show: true, position: "inside", color: look.ink, fontFamily: textFont, fontSize: 12, backgroundColor: look.paper, padding: [1, 3] },
  };
}

function polarOption(part, look, width) {
  const range = polarRange(part);
  const series = part.series.map((one) => polarSeries(part, one, range, look));
  if (part.zero) {
    const circle = Array.from({ length: 121 }, (_, n) => [0, 3 * n]);
    series.push({ name: part.zero, type: "line", coordinateSystem: "polar", data: circle, showSymbol: false, silent: true,
      lineStyle: { color: look.ink, width: 2.4 }, itemStyle: { color: look.ink }, tooltip: { show: false } });
  }
  series.push(circleNames(range, look));
  const narrow = width < 460;
  return {
    polar: { center: ["50%", "50%"], radius: narrow ? "66%" : "78%" },
    angleAxis: {
      type: "value", min: 0, max: 360, interval: 30, startAngle: 0, clockwise: false,
      axisLine: { lineStyle: { color: look.soft } }, axisTick: { show: false },
      axisLabel: { ...textStyle(look), formatter: (angle) => spokeName(angle, narrow) },
      splitLine: { lineStyle: { color: look.line } },
      axisPointer: { label: { show: false } },
    },
    radiusAxis: {
      type: "value", min: range.low, max: range.high, interval: circleStep(range),
      axisLine: { show: false }, axisTick: { show: false },
      axisLabel: { show: false },
      splitLine: { lineStyle: { color: look.line } },
    },
    tooltip: tooltip(look, {
      trigger: "item",
      formatter: (point) => `${point.seriesName}: ${numberText(point.value[0])} ${part.unit} at ${numberText(point.value[1] % 360)}°`,
    }),
    series,
  };
}

function barLabel(color, look) {
  return {
    show: true, fontFamily: textFont, fontSize: 12, color: inkOn(color[look.shade]),
    formatter: (bar) => (bar.value >= 7 ? `${Math.round(bar.value)} %` : ""),
  };
}

function stackOption(part, look) {
  return {
    grid: { left: 8, right: 24, top: 8, bottom: 34, containLabel: true },
    xAxis: { type: "value", min: 0, max: part.total, name: `share of the power [${part.unit}]`, nameLocation: "middle", nameGap: 28,
      nameTextStyle: textStyle(look), axisLabel: textStyle(look), splitLine: { lineStyle: { color: look.line } } },
    yAxis: { type: "category", inverse: true, data: part.categories, axisLabel: { ...textStyle(look), color: look.ink }, axisTick: { show: false }, axisLine: { lineStyle: { color: look.soft } } },
    tooltip: tooltip(look, { trigger: "item", formatter: (bar) => `${bar.name}: ${bar.seriesName} ${numberText(bar.value)} ${part.unit}` }),
    series: part.series.map((series) => ({
      name: series.name, type: "bar", stack: "all", data: series.values, barMaxWidth: 44,
      itemStyle: { color: series.color[look.shade], borderColor: look.soft, borderWidth: 0.5 },
      label: barLabel(series.color, look),
    })),
  };
}

/** A round power of ten below everything that is shown. */
function logFloor(values) {
  const positive = values.filter((value) => value > 0);
  if (positive.length === 0) {
    return 1e-3;
  }
  const low = Math.min(...positive);
  const high = Math.max(...positive);
  return 10 ** Math.max(Math.floor(Math.log10(low)), Math.floor(Math.log10(high)) - 6);
}

function groupsOption(part, look, width) {
  // Bars grow from the left end of the axis: decades above it, not logarithms, which may be
  // of either sign.
  const floor = part.linear ? 0 : logFloor(finiteValues(part.series.map((series) => series.values)));
  const place = (value) => (part.linear || value === null ? value : value > floor ? Math.log10(value / floor) : null);
  const axisText = { ...textStyle(look), formatter: (at) => numberText(part.linear ? at : floor * 10 ** at) };
  return {
    grid: { left: 8, right: 24, top: 8, bottom: 34, containLabel: true },
    xAxis: { type: "value", minInterval: part.linear ? null : 1, maxInterval: part.linear ? null : 1, name: part.unit ? `[${part.unit}]` : "", nameLocation: "middle", nameGap: 28,
      nameTextStyle: textStyle(look), axisLabel: { ...axisText, hideOverlap: true }, splitLine: { lineStyle: { color: look.line } } },
    yAxis: { type: "category", inverse: true, data: part.categories, axisTick: { show: false }, axisLine: { lineStyle: { color: look.soft } },
      axisLabel: { ...textStyle(look), color: look.ink, width: Math.min(190, 0.38 * width), overflow: "truncate" } },
    tooltip: tooltip(look, { trigger: "item", formatter: (bar) => `${bar.name}, ${bar.seriesName}: ${numberText(part.series.find((one) => one.name === bar.seriesName).values[bar.dataIndex])} ${part.unit}` }),
    series: part.series.map((series) => ({
      name: series.name, type: "bar", barMaxWidth: 12, barGap: "10%",
      data: series.values.map(place),
      itemStyle: { color: series.color[look.shade] },
    })),
  };
}

function valueAxis(name, look, vertical) {
  return { type: "value", scale: true, name, nameLocation: vertical ? "end" : "middle", nameGap: vertical ? 12 : 30,
    nameTextStyle: { ...textStyle(look), align: vertical ? "left" : "center" }, axisLabel: { ...textStyle(look), hideOverlap: true, formatter: numberText },
    axisLine: { onZero: false, lineStyle: { color: look.soft } }, splitLine: { lineStyle: { color: look.line } } };
}

function xyOption(part, look) {
  return {
    grid: { left: 12, right: 28, top: 34, bottom: 40, containLabel: true },
    xAxis: valueAxis(part.x, look, false),
    yAxis: valueAxis(part.y, look, true),
    tooltip: tooltip(look, { trigger: "item", formatter: (point) => `${point.seriesName}: ${numberText(point.value[1])} at ${numberText(point.value[0])}` }),
    series: part.series.map((series) => ({
      name: series.name, type: series.dots ? "scatter" : "line", data: series.points,
      symbol: "circle", symbolSize: series.dots ? 6 : 8,
      lineStyle: { width: 2.2, color: series.color[look.shade] },
      itemStyle: { color: series.color[look.shade], opacity: series.dots ? 0.75 : 1 },
    })),
  };
}

function histogramOption(part, look) {
  return {
    grid: { left: 12, right: 28, top: 34, bottom: 40, containLabel: true },
    xAxis: valueAxis(part.x, look, false),
    yAxis: { ...valueAxis("cases", look, true), min: 0, minInterval: 1 },
    tooltip: tooltip(look, { trigger: "item", formatter: (point) => `${point.seriesName}: ${point.value[1]} cases` }),
    series: part.series.map((series) => ({
      name: series.name, type: "line", step: "end", showSymbol: false,
      data: [...series.counts.map((count, n) => [part.edges[n], count]), [part.edges.at(-1), series.counts.at(-1)]],
      lineStyle: { width: 2, color: series.color[look.shade] },
      itemStyle: { color: series.color[look.shade] },
      areaStyle: { color: series.color[look.shade], opacity: 0.16 },
      markLine: { silent: true, symbol: "none", label: { show: false },
        data: series.marks.map((mark, n) => ({ xAxis: mark, lineStyle: { color: series.color[look.shade], width: n === 1 ? 2 : 1, type: n === 1 ? "solid" : "dashed" } })) },
    })),
  };
}

const options = { polar: polarOption, stack: stackOption, groups: groupsOption, xy: xyOption, histogram: histogramOption };

function chartHeight(part, width) {
  if (part.type === "polar") {
    return Math.min(width, 620);
  }
  if (part.type === "stack") {
    return 70 + 56 * part.categories.length;
  }
  if (part.type === "groups") {
    return 60 + part.categories.length * (18 + 11 * part.series.length);
  }
  return Math.min(380, Math.max(260, 0.6 * width));
}

/** The numbers of a chart as a table. */
function chartNumbers(part) {
  const text = numberText;
  const names = part.series.map((series) => ({ head: series.name, unit: part.unit || "" }));
  if (part.type === "polar") {
    const rows = part.series[0].angle.map((angle, n) => [text(angle), ...part.series.map((series) => text(series.level[n]))]);
    return { caption: part.name, columns: [{ head: "direction", unit: "deg" }, ...names], rows };
  }
  if (part.type === "histogram") {
    const rows = part.edges.slice(1).map((edge, n) => [`${text(part.edges[n])} to ${text(edge)}`, ...part.series.map((series) => text(series.counts[n]))]);
    for (const [n, name] of ["5 %", "median", "95 %"].entries()) {
      rows.push([name, ...part.series.map((series) => text(series.marks[n]))]);
    }
    return { caption: part.name, columns: [{ head: part.x, left: true }, ...names], rows };
  }
  if (part.type === "xy") {
    const rows = part.series.flatMap((series) => series.points.map(([x, y]) => [series.name, text(x), text(y)]));
    return { caption: part.name, columns: [{ head: "series", left: true }, { head: part.x }, { head: part.y }], rows };
  }
  const rows = part.categories.map((category, n) => [category, ...part.series.map((series) => text(series.values[n]))]);
  return { caption: part.name, columns: [{ head: "", left: true }, ...names], rows };
}

/** One button a series: shows or hides it. */
function makeLegend(part, chart) {
  const buttons = part.series.map((series) => {
    const swatch = element("i", { "aria-hidden": "true" });
    const button = element("button", { type: "button", "aria-pressed": "true" }, swatch, series.name);
    button.addEventListener("click", () => {
      const shown = button.getAttribute("aria-pressed") !== "true";
      button.setAttribute("aria-pressed", String(shown));
      chart.hidden[shown ? "delete" : "add"](series.name);
      chart.draw(lookNow(false));
    });
    return button;
  });
  chart.paintLegend = (look) => buttons.forEach((button, n) => { button.firstChild.style.background = part.series[n].color[look.shade]; });
  return element("div", { class: "choices legend", role: "group", "aria-label": `Series of: ${part.name}` }, ...buttons);
}

/** A chart with its legend and its numbers. */
function makeChart(part) {
  const plot = element("div", { class: "plot", role: "img", "aria-label": part.alt });
  const chart = { hidden: new Set(), view: null };
  chart.draw = (look) => {
    const width = plot.clientWidth;
    plot.style.height = `${chartHeight(part, width)}px`;
    chart.view ??= echarts.init(plot, null, { renderer: "svg" });
    chart.view.resize();
    const option = options[part.type](part, look, width);
    option.series = option.series.filter((series) => !chart.hidden.has(series.name));
    chart.view.setOption({ animation: false, backgroundColor: "transparent", ...option }, true);
    chart.paintLegend(look);
  };
  const legend = makeLegend(part, chart);
  const numbers = element("details", {}, element("summary", {}, "Numbers"));
  numbers.addEventListener("toggle", () => { numbers.childElementCount > 1 || numbers.append(makeTable(chartNumbers(part))); });
  drawn.push(chart);
  const unit = part.type === "polar" ? ` [${part.unit}]` : "";
  return element("figure", { class: `chart ${part.type}` }, element("figcaption", {}, part.name + unit), legend, plot,
    part.note ? element("p", { class: "note" }, part.note) : null, numbers);
}
