// Report pages in a real browser: nothing asked of a network, no console message, charts
// drawn, film, tables and legends by keyboard, print, accessibility (axe-core), narrow screens.
//
// usage: node report_page_test.mjs PAGE... (files)  Modules come from NODE_MODULES.
// TORSOWAVE_SCREENSHOTS=DIR keeps pictures of the pages there.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import os from "node:os";
import path from "node:path";
import { pathToFileURL } from "node:url";

const require = createRequire(path.join(process.env.NODE_MODULES, "here.js"));
const puppeteer = require("puppeteer-core");
const axe = require.resolve("axe-core/axe.min.js");
const shots = process.env.TORSOWAVE_SCREENSHOTS;
const allLooks = [[1400, "light"], [390, "dark"], [1400, "dark"], [390, "light"]];

/** A page of the browser that remembers what it should not have said or asked. */
async function openPage(browser, file, width, scheme) {
  const page = await browser.newPage();
  const complaints = [];
  page.on("console", (message) => complaints.push(`console ${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => complaints.push(`error: ${error.message}`));
  page.on("request", (request) => {
    if (!/^(file|data|blob):/.test(request.url())) {
      complaints.push(`request: ${request.url()}`);
    }
  });
  await page.setViewport({ width, height: 900 });
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
  await page.goto(pathToFileURL(file).href);
  await page.waitForSelector("body[data-ready]", { timeout: 30000 });
  return { page, complaints };
}

async function checkCharts(page) {
  const charts = await page.$$eval(".chart", (figures) => figures.map((figure) => ({
    name: figure.querySelector("figcaption").textContent,
    shapes: figure.querySelectorAll(".plot svg path").length,
    label: figure.querySelector(".plot").getAttribute("aria-label"),
    box: figure.querySelector(".plot svg")?.getBoundingClientRect().height ?? 0,
  })));
  assert.ok(charts.length > 0, "the page has charts");
  for (const chart of charts) {
    assert.ok(chart.shapes > 3 && chart.box > 60, `${chart.name} is drawn: ${chart.shapes} shapes`);
    assert.ok(chart.label.length > 10, `${chart.name} tells what it shows`);
  }
}

/** Every chart's numbers can be opened as a table. */
async function checkNumbers(page) {
  const rows = await page.$$eval(".chart details", async (all) => {
    const counts = [];
    for (const details of all) {
      details.open = true;
      await new Promise((resolve) => setTimeout(resolve, 20));
      counts.push(details.querySelectorAll("tbody tr").length);
      details.open = false;
    }
    return counts;
  });
  assert.ok(rows.every((count) => count > 0), `tables of the charts: ${rows}`);
}

async function checkLegend(page) {
  const button = await page.$(".legend button");
  const shapes = () => page.$eval(".legend + .plot", (plot) => plot.innerHTML.length);
  const before = await shapes();
  await button.focus();
  await page.keyboard.press("Space");
  assert.equal(await button.evaluate((one) => one.getAttribute("aria-pressed")), "false");
  assert.ok(await shapes() < before, "a hidden series is gone from the chart");
  await page.keyboard.press("Space");
  assert.equal(await shapes(), before);
}

/** What the film shows now. */
function pictureOf(page) {
  return page.$eval(".stage", (stage) => stage.tagName === "CANVAS" ? stage.toDataURL() : stage.querySelector("svg").innerHTML);
}

async function checkFilm(page) {
  const slider = await page.$(".film input");
  if (!slider) {
    return;
  }
  const output = () => page.$eval(".film output", (one) => one.textContent);
  const [picture, time] = [await pictureOf(page), await output()];
  await slider.focus();
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await output(), time, "the arrow key moves the slider");
  assert.ok(await pictureOf(page) !== picture, "and the frame");
  await page.keyboard.press("ArrowLeft");
  assert.ok(await pictureOf(page) === picture, "back again, the same frame");
  const button = await page.$(".film button");
  await button.focus();
  await page.keyboard.press("Enter");
  assert.equal(await button.evaluate((one) => one.textContent), "Pause");
  await page.waitForFunction((was) => document.querySelector(".film output").textContent !== was, { timeout: 5000 }, time);
  await page.keyboard.press("Enter");
  const rest = await output();
  await new Promise((resolve) => setTimeout(resolve, 700));
  assert.equal(await output(), rest, "paused");
}

async function checkSorting(page) {
  const heads = await page.$$("th button");
  for (const button of heads.slice(0, 5)) {
    await button.focus();
    for (const [key, order, sign] of [["Enter", "ascending", 1], ["Space", "descending", -1]]) {
      await page.keyboard.press(key);
      const { sort, cells } = await button.evaluate((one) => {
        const head = one.closest("th");
        const rows = [...head.closest("table").tBodies[0].rows];
        return { sort: head.getAttribute("aria-sort"), cells: rows.map((row) => row.cells[head.cellIndex].textContent) };
      });
      assert.equal(sort, order);
      const numbers = cells.filter((cell) => cell !== "").map(Number);
      if (numbers.every(Number.isFinite)) {
        assert.deepEqual(numbers, [...numbers].sort((a, b) => sign * (a - b)), `sorted ${order}`);
      }
    }
  }
  return heads.length;
}

async function checkAccess(page, what) {
  if (!await page.evaluate(() => "axe" in globalThis)) {
    await page.addScriptTag({ path: axe });
  }
  const quick = { resultTypes: ["violations"], preload: false, iframes: false, selectors: false };
  const found = await page.evaluate((how) => globalThis.axe.run(document, how), quick);
  const grave = found.violations.filter((one) => ["moderate", "serious", "critical"].includes(one.impact));
  const told = grave.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => `${node.html.slice(0, 160)} ${node.failureSummary}`).join(" | ")}`);
  assert.deepEqual(told, [], what);
}

async function checkWidth(page, what) {
  const [content, width] = await page.evaluate(() => [document.documentElement.scrollWidth, window.innerWidth]);
  assert.ok(content <= width, `${what}: ${content} px wide on a screen of ${width} px`);
}

/** Pictures fit a narrow screen and grow on demand, within their own frame. */
async function checkEnlarging(page, what) {
  const sizes = await page.$$eval("figure.picture", (figures) => figures.map((figure) => {
    const button = figure.querySelector(".enlarge");
    const width = () => [...figure.querySelectorAll("img")].find((image) => image.offsetWidth > 0).offsetWidth;
    const seen = [width()];
    button.click();
    seen.push(width(), button.getAttribute("aria-pressed"));
    button.click();
    return [...seen, width(), button.offsetWidth > 0];
  }));
  for (const [fit, large, pressed, again, offered] of sizes) {
    assert.ok(offered && fit <= 390 && large > 600 && pressed === "true" && again === fit, `${what}: ${sizes}`);
  }
}

async function checkPrint(page, folder) {
  const file = path.join(folder, "page.pdf");
  await page.pdf({ path: file, preferCSSPageSize: true });
  const text = execFileSync("pdftotext", [file, "-"], { encoding: "utf-8", maxBuffer: 1e8 });
  const pages = Number(/Pages:\s+(\d+)/.exec(execFileSync("pdfinfo", [file], { encoding: "utf-8" }))[1]);
  assert.ok(pages >= 2 && pages < 80, `${pages} pages`);
  const title = await page.$eval("#title", (head) => head.textContent);
  const flat = (words) => words.replace(/\s+/g, "");
  assert.ok(flat(text).includes(flat(title).slice(0, 30)), "the title is printed");
  assert.ok(text.includes("Planning and teaching estimate"), "the caution is printed");
}

/** Another width or scheme: the page draws itself again. */
async function changeLook(page, width, scheme) {
  await page.setViewport({ width, height: 900 });
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
  await new Promise((resolve) => setTimeout(resolve, 350));
}

async function checkLooks(page, name, looks) {
  for (const [width, scheme] of looks) {
    const what = `${name}, ${width} px, ${scheme}`;
    await changeLook(page, width, scheme);
    await checkCharts(page);
    await checkWidth(page, what);
    if (width < 400) {
      await checkEnlarging(page, what);
    }
    if (shots) {
      await page.screenshot({ path: path.join(shots, `${name}-${width}-${scheme}.png`), fullPage: true });
    }
    await checkAccess(page, what);
  }
}

/** @param looks  the first is that of the page when it opens */
async function checkFile(browser, file, folder, looks) {
  const begin = Date.now();
  const name = path.basename(path.dirname(file));
  const { page, complaints } = await openPage(browser, file, ...looks[0]);
  await checkLooks(page, name, looks);
  await changeLook(page, ...looks[0]);
  await checkLegend(page);
  await checkFilm(page);
  const sortable = await checkSorting(page);
  await checkPrint(page, folder);
  await checkNumbers(page);
  assert.deepEqual(complaints, [], name);
  await page.close();
  console.log(`${file}: well, ${sortable} sortable heads, ${((Date.now() - begin) / 1000).toFixed(1)} s`);
}

const folder = mkdtempSync(path.join(os.tmpdir(), "torsowave-report-"));
const browser = await puppeteer.launch({
  executablePath: process.env.TORSOWAVE_BROWSER,
  args: process.getuid() === 0 ? ["--no-sandbox"] : [],  // root has no sandbox
  userDataDir: path.join(folder, "profile"),
});
let code = 0;
try {
  for (const [number, file] of process.argv.slice(2).entries()) {
    await checkFile(browser, path.resolve(file), folder, number === 0 ? allLooks : allLooks.slice(0, 2));
  }
} catch (error) {
  console.error(error);
  code = 1;
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
}
process.exit(code);
