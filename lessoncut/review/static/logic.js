// What the page works out for itself: how things are written, measured and found again. No page in here, no lesson.

/** @import {AsideRow, Cell, Edit, Finding, Item, Played, Reading, Row, Span} from "./types.js" */

/** `m:ss.t`, or `h:mm:ss.t`; tenths are cut, like the server's. @param {number} ms */
export function clock(ms) {
  const tenths = Math.floor(ms / 100);
  const minutes = Math.floor(tenths / 600);
  const rest = tenths % 600;
  const tail = `${String(Math.floor(rest / 10)).padStart(2, "0")}.${rest % 10}`;
  const hours = Math.floor(minutes / 60);
  return hours ? `${hours}:${String(minutes % 60).padStart(2, "0")}:${tail}` : `${minutes}:${tail}`;
}

/** A length for people: `1.8 s`. @param {number} ms */
export function seconds(ms) {
  return `${(Math.round(ms / 100) / 10).toFixed(1)} s`;
}

/** A long length: `4:32`. @param {number} ms */
export function minutes(ms) {
  return clock(Math.round(ms / 1000) * 1000).slice(0, -2);
}

/** @param {number} value @param {number} least @param {number} most */
export function within(value, least, most) {
  return Math.min(Math.max(value, least), most);
}

/** What is said outside the script, in words. @param {AsideRow} row */
export function asideText(row) {
  return row.words || (row.held ? "A sound held for demonstration" : "Speech that nobody could read");
}

// -- the sheet ------------------------------------------------------------------------------------------------

/**
 * @typedef {object} Piece  What lies in a lane, in order: speech, and the learner's gap after it.
 * @property {Span} speech  take time
 * @property {Played | null} played
 */

/**
 * @typedef {object} Lane  One reading in a cell.
 * @property {Reading} reading
 * @property {"plays" | "lent" | "unused" | "broken"} mark
 * @property {Piece[]} pieces
 */

/** The readings of a cell, one under the other, each with what the lesson plays of it. @param {Cell} cell @returns {Lane[]} */
export function lanes(cell) {
  const lent = new Set(cell.lent);
  return [...cell.readings, ...cell.lent].map((reading) => {
    const played = cell.plays.filter((one) => one.reading === reading.id);
    const whole = played.length === 1 && played[0].parts === 1;
    /** @type {Piece[]} */
    const pieces = played.map((one) => ({ speech: whole ? reading.cut : one.span, played: one }));
    return {
      reading,
      mark: lent.has(reading) ? "lent" : reading.plays ? "plays" : reading.kind === "partial" ? "broken" : "unused",
      pieces: pieces.length ? pieces : [{ speech: reading.cut, played: null }],
    };
  });
}

/** How long the longest lane of a cell is drawn. @param {Cell} cell */
export function cellLength(cell) {
  const lengths = lanes(cell).map((lane) => lane.pieces.reduce((sum, piece) => sum + pieceLength(piece), 0));
  return Math.max(0, ...lengths);
}

/** @param {Piece} piece */
export function pieceLength(piece) {
  return piece.speech[1] - piece.speech[0] + (piece.played ? gapLength(piece.played) : 0);
}

/** What a learner's gap takes on the sheet: the longer of what was recorded and what is wanted. @param {Played} played */
export function gapLength(played) {
  return played.gap.kind === "repeat" ? Math.max(played.gap.gap_ms, played.gap.recorded_ms ?? 0) : 0;
}

/** The longest cell of each column; lines outside the passage lie across all of them. @param {Row[]} rows @param {number} columns */
export function longest(rows, columns) {
  const most = Array.from({ length: columns }, () => 1500);
  for (const row of rows) {
    if (row.kind === "line" && row.in_passage && row.cells.length === columns) {
      row.cells.forEach((cell, at) => { most[at] = Math.max(most[at], cellLength(cell)); });
    }
  }
  return most;
}

/** No column is narrower, where there is room: a word or two must fit. */
export const NARROWEST = 150;

/**
 * @typedef {object} Scale  How time is drawn in every lane.
 * @property {number} perMs  pixels a millisecond
 * @property {number} from  ms of every line that lie before what is seen
 * @property {number[]} columns  how wide each is, in pixels
 * @property {number} across  how wide they are together
 */

/**
 * The pixels a millisecond by which the longest cells fit side by side, and the columns, which share all of the width.
 * @param {number[]} most  the longest cell of each, in ms @param {number} across  the longest line outside the passage
 * @param {number} width @returns {{perMs: number, columns: number[]}}
 */
export function fitting(most, across, width) {
  const narrowest = Math.min(NARROWEST, width / most.length);
  let wide = most;
  let room = width;
  let fit = 0;
  for (;;) {
    fit = Math.max(0, room) / wide.reduce((sum, one) => sum + one, 0);
    const wider = wide.filter((one) => one * fit >= narrowest);
    if (wider.length === wide.length || !wider.length) break;
    room -= narrowest * (wide.length - wider.length);
    wide = wider;
  }
  const columns = most.map((one) => Math.max(narrowest, Math.floor(one * fit)));
  const before = columns.slice(0, -1).reduce((sum, one) => sum + one, 0);
  const last = Math.max(narrowest, width - before);
  const perMs = Math.min(...most.map((one, at) => (at < most.length - 1 ? columns[at] : last) / one), width / Math.max(1, across));
  return { perMs, columns: [...columns.slice(0, -1), last] };
}

/** Nothing on the sheet is narrower. */
const LEAST_WIDTH = 4;
/** What lies outside what is seen stands at that edge, so wide: it is not lost. */
const STUB = 7;

/**
 * Where a stretch stands in its lane, in pixels: `before` and `after` where it goes on beyond an edge, `away` where
 * nothing of it is seen but a stub.
 * @param {number} at  ms after the lane's beginning @param {number} ms @param {Scale} scale @param {number} width  of the lane
 */
export function placed(at, ms, scale, width) {
  const start = (at - scale.from) * scale.perMs;
  const end = start + ms * scale.perMs;
  const left = within(start, 0, width - STUB);
  const right = within(end, STUB, width);
  return { left, width: Math.max(LEAST_WIDTH, right - left), before: start <= -1, after: end >= width + 1, away: end <= 0 || start >= width };
}

const LEGENDS = [100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 30_000];

/** How long a round stretch of time is drawn, in pixels, and what it is. @param {number} perMs @returns {[number, string]} */
export function legend(perMs) {
  const ms = LEGENDS.find((one) => one * perMs >= 40) ?? 60_000;
  return [Math.round(ms * perMs), ms < 1000 ? seconds(ms) : `${ms / 1000} s`];
}

/** How many pixels of the longest line lie outside the columns. @param {number[]} most @param {number} across @param {Scale} scale */
export function beyond(most, across, scale) {
  const over = most.map((ms, at) => ms * scale.perMs - scale.columns[at]);
  return Math.max(0, Math.ceil(Math.max(...over, across * scale.perMs - scale.across)));
}

/** @param {Row[]} rows */
export function longestAcross(rows) {
  return Math.max(0, ...rows.map((row) => (row.kind === "line" && !row.in_passage ? cellLength(row.cells[0]) : 0)));
}

/**
 * @typedef {object} Stop  A place the arrow keys go to.
 * @property {number} row
 * @property {number} cell
 * @property {number} lane  -1 where the cell has no reading
 */

/** Every place of the sheet, row by row. @param {Row[]} rows @returns {Stop[]} */
export function stops(rows) {
  return rows.flatMap((row, at) => {
    if (row.kind === "aside") return [{ row: at, cell: 0, lane: 0 }];
    return row.cells.flatMap((cell, column) => {
      const count = lanes(cell).length;
      if (!count) return [{ row: at, cell: column, lane: -1 }];
      return Array.from({ length: count }, (_, lane) => ({ row: at, cell: column, lane }));
    });
  });
}

/**
 * Where an arrow key leads: up and down keep to the column, left and right go through the row.
 * @param {Row[]} rows @param {Stop} from @param {"up" | "down" | "left" | "right"} way @returns {Stop}
 */
export function step(rows, from, way) {
  const all = stops(rows);
  const at = all.findIndex((stop) => stop.row === from.row && stop.cell === from.cell && stop.lane === from.lane);
  if (at < 0) return all[0] ?? from;
  if (way === "left" || way === "right") {
    const next = all[at + (way === "left" ? -1 : 1)];
    return next && next.row === from.row ? next : from;
  }
  const inColumn = all.filter((stop) => stop.row !== from.row || stop.cell === from.cell);
  const here = inColumn.indexOf(all[at]);
  const beside = inColumn[here + (way === "up" ? -1 : 1)];
  if (!beside || beside.row === from.row) return beside ?? from;
  const row = inColumn.filter((stop) => stop.row === beside.row);
  const same = row.filter((stop) => stop.cell === from.cell);
  const choice = same.length ? same : row.filter((stop) => stop.cell === Math.min(from.cell, row[row.length - 1].cell));
  return (way === "up" ? choice[choice.length - 1] : choice[0]) ?? beside;
}

// -- findings -------------------------------------------------------------------------------------------------

/**
 * The finding before or after, around the end; with `open` only among those not decided. Null where there is none.
 * @param {Finding[]} findings @param {string | null} from @param {1 | -1} way @param {boolean} open
 */
export function nextFinding(findings, from, way, open) {
  const at = findings.findIndex((finding) => finding.id === from);
  const count = findings.length;
  for (let n = 1; n <= count; n += 1) {
    const start = at < 0 ? (way > 0 ? -1 : 0) : at;
    const finding = findings[(((start + way * n) % count) + count) % count];
    if (!open || !finding.decided) return finding;
  }
  return null;
}

/** Where a finding stands on the sheet. @param {Row[]} rows @param {Finding} finding @returns {Stop | null} */
export function placeOf(rows, finding) {
  for (const [at, row] of rows.entries()) {
    if (row.kind === "aside") {
      if (row.findings.includes(finding.id)) return { row: at, cell: 0, lane: 0 };
    } else if (row.id === finding.line) {
      const cell = Math.max(0, row.cells.findIndex((one) => one.pass === finding.pass));
      const all = lanes(row.cells[cell]);
      const lane = all.findIndex((one) => one.reading.id === finding.reading);
      return { row: at, cell, lane: lane >= 0 ? lane : all.length ? 0 : -1 };
    }
  }
  return nearest(rows, finding.span[0]);
}

/** The reading that is being said at that time of the take, else the one before. @param {Row[]} rows @param {number} ms @returns {Stop | null} */
export function nearest(rows, ms) {
  /** @type {Stop | null} */
  let best = null;
  let latest = -1;
  rows.forEach((row, at) => {
    if (row.kind === "aside") {
      if (row.span[0] <= ms && row.span[0] > latest) [best, latest] = [{ row: at, cell: 0, lane: 0 }, row.span[0]];
      return;
    }
    row.cells.forEach((cell, column) => lanes(cell).forEach((lane, number) => {
      const start = lane.reading.cut[0];
      if (lane.mark !== "lent" && start <= ms && start > latest) {
        [best, latest] = [{ row: at, cell: column, lane: number }, start];
      }
    }));
  });
  return best;
}

// -- playing --------------------------------------------------------------------------------------------------

/** The edit that plays at that lesson time. @param {Edit[]} edits @param {number} ms @returns {Edit | null} */
export function editAt(edits, ms) {
  let low = 0;
  let high = edits.length - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const edit = edits[middle];
    if (ms < edit.lesson[0]) high = middle - 1;
    else if (ms >= edit.lesson[1]) low = middle + 1;
    else return edit;
  }
  return null;
}

/** Which moment of the take is seen then; while a picture is held, that picture's. @param {Edit[]} edits @param {number} ms */
export function takeAt(edits, ms) {
  const edit = editAt(edits, ms);
  if (!edit) return null;
  return { ms: edit.held ? edit.take_ms : edit.take_ms + ms - edit.lesson[0], held: edit.held };
}

/** How much of the learner's time is left; null outside a gap. @param {Item[]} items @param {number} ms */
export function left(items, ms) {
  const item = items.find((one) => one.gap && one.gap[0] <= ms && ms < one.gap[1]);
  return item && item.gap ? { ms: item.gap[1] - ms, of: item.gap[1] - item.gap[0], text: item.text } : null;
}

/** What is said at that lesson time. @param {Item[]} items @param {number} ms */
export function saidAt(items, ms) {
  return items.find((one) => one.lesson[0] <= ms && ms < (one.gap ? one.gap[1] : one.lesson[1])) ?? null;
}

/** Around the join after a piece: the last two seconds of one, the next two of the other. @param {Played} played @param {number} whole @returns {Span} */
export function aroundJoin(played, whole) {
  const end = played.lesson[1];
  const next = end + played.gap.gap_ms;
  return played.gap.kind === "repeat"
    ? [Math.max(0, next - 2000), Math.min(whole, next + 2000)]
    : [Math.max(0, end - 2000), Math.min(whole, next + 2000)];
}
