// The page's own arithmetic, without a page.

import assert from "node:assert/strict";
import { test } from "node:test";

import { KEYS, actionOf } from "../../../lessoncut/review/static/keys.js";
import {
  NARROWEST, aroundJoin, asideText, beyond, cellLength, clock, editAt, fitting, lanes, left, legend, longest, minutes, nearest,
  nextFinding, placeOf, placed, seconds, step, stops, takeAt,
} from "../../../lessoncut/review/static/logic.js";
import { outline, paint, readPeaks } from "../../../lessoncut/review/static/peaks.js";

const gap = { kind: "repeat", recorded_ms: 1500, wanted_ms: 3000, gap_ms: 3000, clamped: false };
const reading = (id, start, end, plays, kind = "full") => ({
  id, kind, plays, pass: "P1", span: [start, end], cut: [start - 60, end + 90], moved: false, picked_up: false, caption: null,
});
const cell = (pass, readings, plays = [], lent = []) => ({
  pass, readings, lent, source: "take", missing: false, silent: false, borrowable: [], plays, findings: [],
});
const played = (id, start, end, with_ = gap, part = 1, parts = 1) => ({
  reading: id, part, parts, text: "", span: [start, end], lesson: [start, end], gap: with_,
});
const row = (id, cells, in_passage = true) => ({ kind: "line", id, text: id, section: 0, in_passage, cells });
const SHEET = [
  row("L001", [cell(null, [reading("R1", 500, 2500, true)])], false),
  row("L002", [
    cell("P1", [reading("R2", 4000, 6000, true)]),
    cell("P2", [reading("R5", 14000, 16000, false), reading("R6", 19000, 21000, true)], [played("R6", 19000, 21000)]),
  ]),
  { kind: "aside", id: "A7000", words: "oh", span: [7000, 7500], held: false, plays: false, findings: ["F09"] },
  row("L003", [cell("P1", [reading("R3", 8000, 9600, true)]), cell("P2", [])]),
];

test("times are written as the server writes them", () => {
  // The same values as `lessoncut.times.clock`: tenths are cut, so that no time is ahead of itself.
  assert.equal(clock(0), "0:00.0");
  assert.equal(clock(59_999), "0:59.9");
  assert.equal(clock(83_456), "1:23.4");
  assert.equal(clock(3_600_000 + 61_250), "1:01:01.2");
  assert.equal(seconds(1_849), "1.8 s");
  assert.equal(minutes(272_400), "4:32");
});

test("a cell's readings are lanes, and the learner's gap follows the one that plays", () => {
  const [first, second] = lanes(SHEET[1].cells[1]);
  assert.deepEqual([first.mark, second.mark], ["unused", "plays"]);
  assert.equal(cellLength(SHEET[1].cells[1]), 2150 + 3000);
  const tall = cell("P2", [reading("R6", 0, 2000, true)], [played("R6", 0, 2000, { ...gap, recorded_ms: 5000 })]);
  assert.equal(cellLength(tall), 2150 + 5000, "the longer of what was recorded and what is wanted is drawn");
});

test("a line in parts is drawn part by part, each with its gap", () => {
  const parts = cell("P2", [reading("R6", 0, 4000, true)], [played("R6", 0, 1800, gap, 1, 2), played("R6", 2000, 4000, gap, 2, 2)]);
  assert.deepEqual(lanes(parts)[0].pieces.map((piece) => piece.speech), [[0, 1800], [2000, 4000]]);
  assert.equal(cellLength(parts), 1800 + 3000 + 2000 + 3000);
});

test("what is said outside the script has words, or a name for having none", () => {
  const aside = SHEET[2];
  assert.equal(asideText(aside), "oh");
  assert.equal(asideText({ ...aside, words: "" }), "Speech that nobody could read");
  assert.equal(asideText({ ...aside, words: "", held: true }), "A sound held for demonstration");
});

test("one scale of time fits the longest cells side by side", () => {
  const most = longest(SHEET, 2);
  assert.deepEqual(most, [2150, 5150]);
  assert.deepEqual(fitting(most, 2150, 730), { perMs: 0.1, columns: [215, 515] });
  const narrow = fitting(most, 0, 400);
  assert.deepEqual(narrow.columns, [NARROWEST, 250]);
  assert.equal(narrow.perMs, 250 / 5150, "the longest cell of the other column fills it");
  assert.equal(fitting(most, 9000, 730).perMs, 730 / 9000, "a longer line outside the passage has all of the width");
  assert.deepEqual(fitting(most, 0, 200).columns, [100, 100], "where there is no room, columns are alike, and none lies outside");
});

test("a larger scale shows less of each line; what lies outside is a stub at its edge", () => {
  const scale = { perMs: 0.1, from: 1000, columns: [200], across: 200 };
  assert.deepEqual(placed(1500, 500, scale, 200), { left: 50, width: 50, before: false, after: false, away: false });
  assert.deepEqual(placed(0, 2000, scale, 200), { left: 0, width: 100, before: true, after: false, away: false });
  assert.deepEqual(placed(2000, 5000, scale, 200), { left: 100, width: 100, before: false, after: true, away: false });
  assert.equal(placed(1000, 2000.0001, scale, 200).after, false, "what fits does not go on for a sliver of a pixel");
  const before = placed(0, 900, scale, 200);
  const after = placed(4000, 900, scale, 200);
  assert.deepEqual([before.away, after.away], [true, true]);
  assert.ok(before.left === 0 && before.width > 0 && before.width < 10);
  assert.ok(after.left + after.width === 200 && after.width === before.width);
  assert.equal(beyond([3000], 0, scale), 100);
  assert.equal(beyond([1000], 2500, scale), 50);
  assert.equal(beyond([1000], 0, scale), 0);
});

test("the scale is told by a round length that can be seen", () => {
  assert.deepEqual(legend(0.05), [50, "1 s"]);
  assert.deepEqual(legend(0.009), [45, "5 s"]);
  assert.deepEqual(legend(0.5), [50, "0.1 s"]);
});

test("arrow keys keep to their column, and stop at the ends", () => {
  assert.equal(stops(SHEET).length, 7);
  let at = { row: 0, cell: 0, lane: 0 };
  assert.deepEqual(step(SHEET, at, "up"), at);
  at = step(SHEET, at, "down");
  assert.deepEqual(at, { row: 1, cell: 0, lane: 0 });
  at = step(SHEET, at, "right");
  assert.deepEqual(at, { row: 1, cell: 1, lane: 0 });
  at = step(SHEET, at, "down");
  assert.deepEqual(at, { row: 1, cell: 1, lane: 1 });
  at = step(SHEET, step(SHEET, at, "down"), "down");
  assert.equal(at.row, 3);
  for (const stop of stops(SHEET)) {
    for (const [way, back] of [["left", "right"], ["right", "left"]]) {
      const there = step(SHEET, stop, way);
      if (there !== stop) assert.deepEqual(step(SHEET, there, back), stop);
    }
  }
});

test("every place can be reached by arrow keys alone", () => {
  const name = (stop) => `${stop.row} ${stop.cell} ${stop.lane}`;
  const seen = new Set();
  const open = [stops(SHEET)[0]];
  while (open.length) {
    const at = open.pop();
    if (seen.has(name(at))) continue;
    seen.add(name(at));
    for (const way of ["up", "down", "left", "right"]) open.push(step(SHEET, at, way));
  }
  assert.equal(seen.size, stops(SHEET).length);
});

test("the next finding comes around the end, and open ones can be asked for", () => {
  const findings = ["F01", "F02", "F03"].map((id, at) => ({ id, decided: at === 1 }));
  assert.equal(nextFinding(findings, "F01", 1, false).id, "F02");
  assert.equal(nextFinding(findings, "F01", 1, true).id, "F03");
  assert.equal(nextFinding(findings, "F03", 1, true).id, "F01");
  assert.equal(nextFinding(findings, null, 1, false).id, "F01");
  assert.equal(nextFinding(findings, "F01", -1, false).id, "F03");
  assert.equal(nextFinding(findings.map((one) => ({ ...one, decided: true })), "F01", 1, true), null);
  assert.equal(nextFinding([], null, 1, false), null);
});

test("a finding is shown where it stands", () => {
  assert.deepEqual(placeOf(SHEET, { id: "F1", line: "L002", pass: "P2", reading: "R6", span: [19000, 21000] }), { row: 1, cell: 1, lane: 1 });
  assert.deepEqual(placeOf(SHEET, { id: "F1", line: "L003", pass: "P2", reading: null, span: [22000, 22000] }), { row: 3, cell: 1, lane: -1 });
  assert.deepEqual(placeOf(SHEET, { id: "F09", line: null, pass: null, reading: null, span: [7000, 7500] }), { row: 2, cell: 0, lane: 0 });
  assert.deepEqual(placeOf(SHEET, { id: "F5", line: null, pass: null, reading: null, span: [16500, 16600] }), { row: 1, cell: 1, lane: 0 });
  assert.equal(nearest(SHEET, 0), null);
});

test("the picture follows the lesson, and is held in a gap", () => {
  const edits = [
    { lesson: [0, 1000], take_ms: 5000, held: false },
    { lesson: [1000, 3000], take_ms: 6000, held: true },
    { lesson: [3000, 4000], take_ms: 9000, held: false },
  ];
  assert.deepEqual(takeAt(edits, 500), { ms: 5500, held: false });
  assert.deepEqual(takeAt(edits, 2999), { ms: 6000, held: true });
  assert.deepEqual(takeAt(edits, 3000), { ms: 9000, held: false });
  assert.equal(editAt(edits, 4000), null);
  assert.equal(editAt(edits, -1), null);
});

test("the learner's time counts down to nothing", () => {
  const items = [{ line: "L002", pass: "P2", reading: "R6", text: "x", lesson: [0, 1000], gap: [1000, 4000] }];
  assert.equal(left(items, 999), null);
  assert.deepEqual(left(items, 1000), { ms: 3000, of: 3000, text: "x" });
  assert.equal(left(items, 3900).ms, 100);
  assert.equal(left(items, 4000), null);
});

test("a cut is heard with two seconds on both sides", () => {
  const pause = { ...gap, kind: "pause", gap_ms: 600 };
  assert.deepEqual(aroundJoin(played("R", 5000, 7000, pause), 60_000), [5000, 9600]);
  assert.deepEqual(aroundJoin(played("R", 0, 1000, pause), 2000), [0, 2000]);
});

test("peaks are read as the server writes them, and no loud sample is lost at any zoom", () => {
  // The layout that lessoncut/take/peaks.py describes, written by hand.
  const levels = [[0, 0, -128, 127, -3, 4, 0, 0, 0, 0, 0, 0, 0, 0, -9, 1], [-128, 127, -9, 1]];
  const bytes = new ArrayBuffer(16 + 8 + 16 + 4);
  const head = new DataView(bytes);
  [..."lcpeaks1"].forEach((letter, at) => head.setUint8(at, letter.charCodeAt(0)));
  head.setUint32(8, 10, true);
  head.setUint32(12, 2, true);
  head.setUint32(16, 8, true);
  head.setUint32(20, 2, true);
  levels.flat().forEach((value, at) => head.setInt8(24 + at, value));
  const peaks = readPeaks(bytes);
  assert.deepEqual(peaks.levels.map((level) => [...level]), levels);
  for (const pixels of [1, 2, 3, 8, 13, 80, 777]) {
    const drawn = [...outline(peaks, 0, 80 / pixels, pixels)];
    assert.equal(Math.max(...drawn.filter((_, at) => at % 2 === 0)), 1, `up, on ${pixels} pixels`);
    assert.equal(Math.max(...drawn.filter((_, at) => at % 2)), 1, `down, on ${pixels} pixels`);
  }
  assert.ok(outline(peaks, 500, 50, 2).every((one) => one < 0.02), "after the take's end there is nothing");
  assert.throws(() => readPeaks(new ArrayBuffer(64)));
});

test("an outline reaches as far up and down as the sound, and silence is a thin line", () => {
  const peaks = { hop: 10, levels: [Int8Array.from([-32, 0, 0, 127, -128, 127, 0, 0])] };
  const at = (values, column) => [values[2 * column], values[2 * column + 1]];
  const pairs = outline(peaks, 0, 10, 4);
  assert.deepEqual([at(pairs, 1)[0], at(pairs, 2)], [1, [1, 1]], "full scale is the whole height");
  assert.equal(at(pairs, 0)[1], 0.5, "a quarter of the scale is drawn half as high: the square root");
  assert.ok(at(pairs, 3).every((one) => one > 0 && one < 0.02));
  const fine = outline(peaks, 0, 1, 40);
  for (let x = 1; x < 40; x += 1) assert.ok(Math.abs(fine[2 * x] - fine[2 * x - 2]) < 0.5, "between two pairs there is no step");
});

test("an outline is painted to the part of a pixel, and nowhere else", () => {
  const pixels = new Uint32Array(4 * 10);
  paint(pixels, 4, 10, 1, Float32Array.from([1, 1, 0.5, 0.25]), 0x563412);
  const column = (x) => Array.from({ length: 10 }, (_, y) => pixels[4 * y + x]);
  assert.deepEqual([...column(0), ...column(3)], new Array(20).fill(0));
  assert.deepEqual(column(1), new Array(10).fill(0xff563412));
  assert.deepEqual(column(2).map((one) => one >>> 24), [0, 0, 128, 255, 255, 255, 64, 0, 0, 0]);
  assert.ok(column(2).slice(2, 7).every((one) => (one & 0xffffff) === 0x563412));
  const few = new Uint32Array(4);
  paint(few, 2, 2, 0, Float32Array.from([1, 1, 1, 1, 1, 1]), 1);
  assert.deepEqual([...few], new Array(4).fill(0xff000001), "what is longer than the picture ends with it");
});

test("no key does two things, and everything listed is done", () => {
  const all = KEYS.flatMap(([, keys]) => keys.flatMap((key) => key.keys));
  assert.equal(new Set(all).size, all.length);
  const press = (key, held = false) => ({ key, ctrlKey: held, metaKey: false, altKey: false });
  assert.equal(actionOf(press("n"), true), "next-open");
  assert.equal(actionOf(press("z", true), true), "undo");
  assert.equal(actionOf(press("z", true), false), "undo", "with Ctrl a key is never mistaken for writing");
  assert.equal(actionOf(press("n"), false), null, "WCAG 2.1.4: single keys can be switched off");
  assert.equal(actionOf(press("n", true), true), null, "the browser's own shortcuts stay the browser's");
  assert.equal(actionOf(press("F5"), true), null);
});
