// Plays stretches of the take, and the lesson as it will sound; tells the page where it is.

/** @import {State} from "./types.js" */
import { left, saidAt, takeAt } from "./logic.js";
import { takeAddress } from "./server.js";

/**
 * @typedef {object} Now  What is heard at this moment.
 * @property {"take" | "lesson"} from
 * @property {string} label
 * @property {number} ms  on the clock of `from`
 * @property {number | null} take_ms
 * @property {{ms: number, of: number, text: string} | null} turn  the learner's time that is left
 * @property {string} text  what is being said, in the lesson
 */

/** @typedef {{from: "take" | "lesson", end: number, label: string}} Playing */

export class Player {
  /**
   * @param {HTMLVideoElement} take @param {HTMLAudioElement} lesson @param {() => State} state
   * @param {(now: Now | null) => void} tick  null when nothing plays any more
   * @param {(sentence: string) => void} failed
   */
  constructor(take, lesson, state, tick, failed) {
    this.take = take;
    this.lesson = lesson;
    this.state = state;
    this.tick = tick;
    this.failed = failed;
    /** @type {Playing | null} */
    this.playing = null;
    this.whole = false;
    this.nextFrame = 0;
    this.onFrame = () => this.frame();
    lesson.addEventListener("ended", () => this.stop());
    take.addEventListener("ended", () => { if (this.playing?.from === "take") this.stop(); });
  }

  /** Whether the take itself can be played; until then its sound alone is. What plays, or waits for it, plays on. @param {boolean} whole */
  setSource(whole) {
    const address = takeAddress(whole, this.state());
    this.whole = whole;
    if (this.take.src.endsWith(address)) return;
    const { playing, take } = this;
    const at = take.currentTime * 1000;
    take.src = address;
    if (playing?.from === "take") void this.play({ ...playing }, at);
  }

  /** The picture of that moment, while nothing plays. @param {number} ms */
  show(ms) {
    if (this.whole && !this.playing && this.state().take.picture) this.take.currentTime = ms / 1000;
  }

  /** @param {number} start @param {number} end @param {string} label */
  playTake(start, end, label) {
    return this.play({ from: "take", end, label }, start);
  }

  /** @param {number} start @param {number | null} end @param {string} label */
  playLesson(start, end, label) {
    return this.play({ from: "lesson", end: end ?? this.state().lesson.duration_ms, label }, start);
  }

  /** @param {Playing} playing @param {number} start */
  async play(playing, start) {
    this.stop();
    this.playing = playing;
    const media = this.media(playing);
    this.take.muted = media !== this.take;
    const source = `/lesson.wav?${encodeURIComponent(this.state().revision)}`;
    if (media === this.lesson && !this.lesson.src.endsWith(source)) this.lesson.src = source;
    try {
      media.currentTime = Math.max(0, start) / 1000;
      await media.play();
    } catch (error) {
      if (this.playing !== playing) return;
      this.stop();
      if (error instanceof DOMException && error.name === "AbortError") return;
      this.failed("This cannot be played: the take is not there any more, or the browser cannot play it.");
      return;
    }
    if (this.playing === playing) this.nextFrame = requestAnimationFrame(this.onFrame);
  }

  /** @param {Playing} playing */
  media(playing) {
    return playing.from === "take" ? this.take : this.lesson;
  }

  frame() {
    if (!this.playing) return;
    const { from, end, label } = this.playing;
    const media = this.media(this.playing);
    const ms = media.currentTime * 1000;
    if (ms >= end || media.ended) {
      this.stop();
      return;
    }
    const { edits, items } = this.state().lesson;
    if (from === "take") {
      this.tick({ from, label, ms, take_ms: ms, turn: null, text: "" });
    } else {
      const seen = takeAt(edits, ms);
      if (seen && this.state().take.picture) this.follow(seen);
      const turn = left(items, ms);
      this.tick({ from, label, ms, take_ms: seen && !seen.held ? seen.ms : null, turn, text: saidAt(items, ms)?.text ?? "" });
    }
    this.nextFrame = requestAnimationFrame(this.onFrame);
  }

  /** Keeps the picture with the lesson's sound. @param {{ms: number, held: boolean}} seen */
  follow(seen) {
    const late = Math.abs(this.take.currentTime * 1000 - seen.ms);
    if (this.take.seeking) return;
    if (seen.held) {
      if (!this.take.paused) this.take.pause();
      if (late > 60) this.take.currentTime = seen.ms / 1000;
      return;
    }
    if (late > 150) this.take.currentTime = seen.ms / 1000;
    if (this.take.paused) this.take.play().catch(() => undefined);
  }

  stop() {
    this.take.pause();
    this.lesson.pause();
    cancelAnimationFrame(this.nextFrame);
    if (!this.playing) return;
    this.playing = null;
    this.tick(null);
  }
}
