// What the server says, as types. Times are whole milliseconds; spans are [start, end).

/** @typedef {[number, number]} Span */
/** @typedef {[string, number, number]} Word  text, start, end */

/**
 * @typedef {object} Reading
 * @property {string} id
 * @property {"full" | "partial"} kind
 * @property {boolean} plays
 * @property {string | null} pass
 * @property {Span} span
 * @property {Span} cut
 * @property {boolean} moved
 * @property {boolean} picked_up
 * @property {string | null} caption
 */

/**
 * @typedef {object} Gap
 * @property {"repeat" | "pause"} kind
 * @property {number | null} recorded_ms
 * @property {number} wanted_ms
 * @property {number} gap_ms
 * @property {boolean} clamped
 * @property {boolean} [own]
 */

/**
 * @typedef {object} Played  A reading, or a part of one, as the lesson plays it.
 * @property {string} reading
 * @property {number} part
 * @property {number} parts
 * @property {string} text
 * @property {Span} span
 * @property {Span} lesson
 * @property {Gap} gap
 */

/**
 * @typedef {object} Cell
 * @property {string | null} pass
 * @property {Reading[]} readings
 * @property {Reading[]} lent
 * @property {"take" | "borrowed" | "picked_up" | "built"} source
 * @property {boolean} missing
 * @property {boolean} silent
 * @property {string[]} borrowable
 * @property {Played[]} plays
 * @property {string[]} findings
 */

/**
 * @typedef {object} LineRow
 * @property {"line"} kind
 * @property {string} id
 * @property {string} text
 * @property {number} section
 * @property {boolean} in_passage
 * @property {Cell[]} cells
 */

/**
 * @typedef {object} AsideRow
 * @property {"aside"} kind
 * @property {string} id
 * @property {string} words
 * @property {Span} span
 * @property {boolean} held
 * @property {boolean} plays
 * @property {string[]} findings
 */

/** @typedef {LineRow | AsideRow} Row */

/**
 * @typedef {object} Strip
 * @property {string} title
 * @property {Span} span
 * @property {Span} window
 * @property {Span | null} mark
 * @property {Word[]} words
 */

/**
 * @typedef {object} Finding
 * @property {string} id
 * @property {string} kind
 * @property {string} kind_name
 * @property {string | null} line
 * @property {string | null} pass
 * @property {string | null} pass_name
 * @property {string | null} reading
 * @property {Span} span
 * @property {number} confidence
 * @property {string} says
 * @property {[string, string][]} facts
 * @property {{name: string, says: string, reading: string | null}[]} choices
 * @property {number} chosen
 * @property {boolean} decided
 * @property {Strip[]} strips
 * @property {{script: string, heard: string, same: boolean}[]} words
 */

/** @typedef {{take_ms: number, lesson_ms: number, repeat_ms: number, learner_ms: number, findings: number, open: number}} Totals */

/**
 * @typedef {object} Pacing
 * @property {string[]} levels
 * @property {string} level
 * @property {number} factor
 * @property {number} reaction_ms
 * @property {number} least_ms
 * @property {number} most_ms
 * @property {boolean} split
 * @property {boolean} build_up
 * @property {boolean} hold
 */

/**
 * @typedef {object} Chapter
 * @property {string} title
 * @property {Record<string, unknown> | null} about
 * @property {boolean} added
 * @property {boolean} hidden
 * @property {Span | null} lesson
 * @property {{line: string, pass: string | null} | null} [first]
 */

/** @typedef {{about: Record<string, unknown>, name: string, span: Span | null, lines: string[]}} PickUp */
/** @typedef {{paper: "a4" | "letter", ipa: boolean, melody: boolean, bars: boolean, ties: boolean, room: boolean, url: string | null, your_turn: string, slow: boolean}} Choices */
/** @typedef {{loudness: "standard" | "off" | number, high_pass: boolean, prompt: boolean, with_model: boolean}} Wishes */

/** @typedef {{lesson: Span, take_ms: number, held: boolean}} Edit */
/** @typedef {{line: string | null, pass: string | null, reading: string | null, text: string, lesson: Span, gap: Span | null}} Item */

/**
 * @typedef {object} State
 * @property {string} revision
 * @property {string} title
 * @property {string[]} notes
 * @property {string} language
 * @property {{duration_ms: number, picture: boolean, sound: string, speech: Span[] | null}} take
 * @property {{title: string, passage: boolean}[]} sections
 * @property {{id: string, kind: "model" | "repeat", name: string, built: boolean, span: Span | null}[]} passes
 * @property {Row[]} rows
 * @property {Finding[]} findings
 * @property {string | null} undoes
 * @property {string | null} redoes
 * @property {Pacing} pacing
 * @property {Totals} totals
 * @property {Chapter[]} chapters
 * @property {{edits: Edit[], items: Item[], duration_ms: number}} lesson
 * @property {{name: string, says: string, file: string, there: boolean}[]} outputs
 * @property {string} targets
 * @property {Choices} choices
 * @property {string | null} cover
 * @property {PickUp[]} pick_ups
 */

/** @typedef {{name: string, state: "waiting" | "running" | "done" | "failed", done: number, says: string | null}} Step */
/** @typedef {{revision: string, export: Step[] | null, preview: Step[] | null, adding: Step[] | null}} Pulse */

export {};
