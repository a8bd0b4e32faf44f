"use strict";

function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let n = 0; n < text.length; ++n) {
    bytes[n] = text.charCodeAt(n);
  }
  return bytes;
}

async function unpacked(base64) {
  const stream = new Blob([bytesOf(base64)]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/** Lines where neighbouring cells differ in tissue, in pixels of a picture of the slice. */
function outlines(labels, cells, scale) {
  const path = new Path2D();
  const { nx, ny } = cells;
  for (let j = 0; j < ny; ++j) {
    for (let i = 0; i < nx; ++i) {
      const here = labels[j * nx + i];
      const top = (ny - 1 - j) * scale;
      if (i + 1 < nx && labels[j * nx + i + 1] !== here) {
        path.moveTo((i + 1) * scale, top);
        path.lineTo((i + 1) * scale, top + scale);
      }
      if (j + 1 < ny && labels[(j + 1) * nx + i] !== here) {
        path.moveTo(i * scale, top);
        path.lineTo((i + 1) * scale, top);
      }
    }
  }
  return path;
}

/** Colours of the 256 levels as red, green, blue. */
function levelColors(text) {
  const colors = new Uint8Array(768);
  for (let n = 0; n < 768; ++n) {
    colors[n] = Number.parseInt(text.slice(2 * n, 2 * n + 2), 16);
  }
  return colors;
}

/** What a byte of a frame says, e.g. "+, −23 dB". */
function levelText(byte, film) {
  const share = (byte - 128) / 127;
  if (share === 0) {
    return `below −${film.span} dB`;
  }
  return `${share > 0 ? "positive" : "negative"}, ${numberText(Math.round(film.span * (Math.abs(share) - 1)))} dB`;
}

/** Draws frames of a slice on a canvas; the outlines are laid over it once and kept. */
class MapFilm {
  constructor(film, canvas, readout) {
    this.film = film;
    this.canvas = canvas;
    this.readout = readout;
    this.small = document.createElement("canvas");
    this.small.width = film.nx;
    this.small.height = film.ny;
    this.scale = Math.max(1, Math.round(1100 / film.cells.nx));
    canvas.width = film.cells.nx * this.scale;
    canvas.height = film.cells.ny * this.scale;
    this.over = document.createElement("canvas");
    this.over.width = canvas.width;
    this.over.height = canvas.height;
  }

  async load() {
    const [frames, labels] = await Promise.all([unpacked(this.film.frames), unpacked(this.film.labels)]);
    this.frames = frames;
    this.labels = new Uint16Array(labels.buffer);
    this.path = outlines(this.labels, this.film.cells, this.scale);
    this.canvas.addEventListener("pointermove", (event) => this.tell(event));
    this.canvas.addEventListener("pointerleave", () => { this.readout.textContent = this.readout.dataset.usual; });
  }

  /** Place on the canvas of a point in mm. */
  at(x, y) {
    const { origin_mm: origin, cells } = this.film;
    return [((x - origin[0]) / cells.mm + 0.5) * this.scale, this.canvas.height - ((y - origin[1]) / cells.mm + 0.5) * this.scale];
  }

  paintOver(look) {
    const pen = this.over.getContext("2d");
    pen.clearRect(0, 0, this.over.width, this.over.height);
    pen.strokeStyle = look.shade ? "rgba(232, 234, 238, 0.5)" : "rgba(28, 30, 36, 0.55)";
    pen.lineWidth = Math.max(1, this.over.width / 900);
    pen.stroke(this.path);
    if (this.film.implant_mm) {
      const [x, y] = this.at(...this.film.implant_mm);
      pen.strokeStyle = look.ink;
      pen.lineWidth = 2.5;
      pen.beginPath();
      pen.arc(x, y, 0.012 * this.over.width, 0, 2 * Math.PI);
      pen.stroke();
    }
    this.paintRuler(pen, look);
  }

  /** A bar of 50 mm, or of another round length that fits. */
  paintRuler(pen, look) {
    const mm = [200, 100, 50, 20, 10, 5, 2, 1].find((length) => length < 0.25 * this.film.cells.nx * this.film.cells.mm) || 1;
    const length = (mm / this.film.cells.mm) * this.scale;
    const left = 0.03 * this.over.width;
    const bottom = this.over.height - 0.04 * this.over.height;
    pen.fillStyle = look.ink;
    pen.fillRect(left, bottom, length, 4);
    pen.font = `${Math.round(0.022 * this.over.width)}px ${textFont}`;
    pen.fillText(`${mm} mm`, left, bottom - 8);
  }

  draw(number, look) {
    if (this.shade !== look.shade) {
      this.shade = look.shade;
      this.colors = levelColors(this.film.colors[look.shade]);
      this.paintOver(look);
    }
    const { nx, ny } = this.film;
    const image = new ImageData(nx, ny);
    const first = number * nx * ny;
    for (let j = 0; j < ny; ++j) {
      for (let i = 0; i < nx; ++i) {
        const level = 3 * this.frames[first + j * nx + i];
        const to = 4 * ((ny - 1 - j) * nx + i);
        image.data[to] = this.colors[level];
        image.data[to + 1] = this.colors[level + 1];
        image.data[to + 2] = this.colors[level + 2];
        image.data[to + 3] = 255;
      }
    }
    this.small.getContext("2d").putImageData(image, 0, 0);
    const pen = this.canvas.getContext("2d");
    pen.imageSmoothingQuality = "high";
    pen.clearRect(0, 0, this.canvas.width, this.canvas.height);
    const { step } = this.film;
    const left = (0.5 - 0.5 * step) * this.scale;
    const height = ny * step * this.scale;
    pen.drawImage(this.small, left, this.canvas.height - height - left, nx * step * this.scale, height);
    pen.drawImage(this.over, 0, 0);
    this.number = number;
  }

  tell(event) {
    const { nx, step, cells, origin_mm: origin, tissues } = this.film;
    const box = this.canvas.getBoundingClientRect();
    const i = Math.min(cells.nx - 1, Math.max(0, Math.floor(((event.clientX - box.left) / box.width) * cells.nx)));
    const j = Math.min(cells.ny - 1, Math.max(0, Math.floor((1 - (event.clientY - box.top) / box.height) * cells.ny)));
    const byte = this.frames[this.number * nx * this.film.ny + Math.min(this.film.ny - 1, Math.round(j / step)) * nx + Math.min(nx - 1, Math.round(i / step))];
    const place = `x ${numberText(origin[0] + i * cells.mm)} mm, y ${numberText(origin[1] + j * cells.mm)} mm`;
    this.readout.textContent = `${place}: ${tissues[this.labels[j * cells.nx + i]]}; ${levelText(byte, this.film)}`;
  }
}

/** An axis whose ends are no round numbers and go without their labels. */
function edgeless(axis) {
  return { ...axis, axisLabel: { ...axis.axisLabel, showMinLabel: false, showMaxLabel: false } };
}

/** The same of a row of cells: a curve over the layers. */
class RowFilm {
  constructor(film, plot) {
    this.film = film;
    this.plot = plot;
  }

  async load() {}

  option(look) {
    const { film } = this;
    const ends = [film.x[0], film.x.at(-1)];
    const areas = film.layers.map((layer, n) => [
      { xAxis: Math.max(layer.from ?? ends[0], ends[0]), name: layer.tissue, itemStyle: { color: look.soft, opacity: n % 2 ? 0.16 : 0.06 } },
      { xAxis: Math.min(layer.to ?? ends[1], ends[1]) },
    ]);
    return {
      animation: false,
      grid: { left: 12, right: 24, top: 34, bottom: 40, containLabel: true },
      xAxis: { ...edgeless(valueAxis("x [mm]", look, false)), min: ends[0], max: ends[1] },
      yAxis: { ...edgeless(valueAxis(`${film.field} [${film.units}]`, look, true)), min: -film.top, max: film.top },
      series: [{ type: "line", showSymbol: false, lineStyle: { width: 2, color: look.shade ? "#79c9ce" : "#17666e" }, data: [],
        markArea: { silent: true, label: { color: look.soft, position: "insideBottom", fontFamily: textFont, rotate: 90, align: "left", verticalAlign: "middle" }, data: areas } }],
    };
  }

  draw(number, look) {
    this.plot.style.height = `${Math.min(420, Math.max(280, 0.5 * this.plot.clientWidth))}px`;
    this.view ??= echarts.init(this.plot, null, { renderer: "svg" });
    if (this.shade !== look.shade || this.width !== this.plot.clientWidth) {
      this.shade = look.shade;
      this.width = this.plot.clientWidth;
      this.view.resize();
      this.view.setOption(this.option(look), true);
    }
    this.view.setOption({ series: [{ data: this.film.x.map((x, n) => [x, this.film.frames[number][n]]) }] });
  }
}

/** Play and pause; with less motion wished for, two frames a second. */
function addPlayer(button, show, now, count) {
  let timer = null;
  const stop = () => {
    clearInterval(timer);
    timer = null;
    button.textContent = "Play";
  };
  button.addEventListener("click", () => {
    if (timer !== null) {
      stop();
      return;
    }
    const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
    const perSecond = calm ? 2 : Math.min(15, Math.max(6, count / 5));
    timer = setInterval(() => show((now() + 1) % count), 1000 / perSecond);
    button.textContent = "Pause";
  });
  return stop;
}

function filmScale(film, bar) {
  const paint = (look) => {
    const colors = levelColors(film.colors[look.shade]);
    const stops = Array.from({ length: 33 }, (_, n) => {
      const at = Math.min(255, 8 * n) * 3;
      return `rgb(${colors[at]}, ${colors[at + 1]}, ${colors[at + 2]})`;
    });
    bar.style.background = `linear-gradient(to right, ${stops.join(", ")})`;
  };
  const top = `${numberText(film.top)} ${film.units}`;
  const made = element("div", { class: "scale" }, element("span", {}, `−${top}`), bar, element("span", {}, `+${top}`));
  return { made, paint };
}

/** The animation with its slider. It never starts by itself. */
function makeFilm(film) {
  const isMap = film.kind === "map";
  const usual = isMap ? `The scale is in decibels on both sides of its middle, ${film.span} dB each. ${film.note}` : film.note;
  const readout = element("p", { class: "note", "data-usual": usual }, usual);
  const alt = `${film.field} ${isMap ? "over the slice" : "over the layers"}, at the moment that the slider tells`;
  const stage = element(isMap ? "canvas" : "div", { class: "stage", role: "img", "aria-label": alt });
  const slider = element("input", { type: "range", min: 0, max: film.times.length - 1, step: 1, value: 0, "aria-label": "Moment" });
  const output = element("output", {}, film.times[0]);
  const button = element("button", { type: "button" }, "Play");
  const view = isMap ? new MapFilm(film, stage, readout) : new RowFilm(film, stage);
  const scale = isMap ? filmScale(film, element("i", { "aria-hidden": "true" })) : null;
  const show = (number) => {
    slider.value = number;
    slider.setAttribute("aria-valuetext", film.times[number]);
    output.textContent = film.times[number];
    stage.dataset.frame = number;
    view.draw(number, lookNow(false));
  };
  const stop = addPlayer(button, show, () => Number(slider.value), film.times.length);
  slider.addEventListener("input", () => { stop(); show(Number(slider.value)); });
  const ready = view.load();
  drawn.push({ ready, draw: (look) => ready.then(() => { view.draw(Number(slider.value), look); scale?.paint(look); }) });
  const start = Math.floor(0.3 * (film.times.length - 1));
  ready.then(() => show(start));
  return element("figure", { class: "film" }, element("figcaption", {}, `${film.field}, moment by moment`),
    isMap ? element("p", { class: "sides middle", "aria-hidden": "true" }, "front") : null, stage,
    isMap ? element("p", { class: "sides", "aria-hidden": "true" }, element("span", {}, "patient's right"), element("span", {}, "back"), element("span", {}, "patient's left")) : null,
    scale?.made, element("div", { class: "controls" }, button, slider, output), readout);
}
