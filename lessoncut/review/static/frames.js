// How long the page's own frames take, for whoever measures it: `performance.getEntriesByName`.

const MOST = 600;

/**
 * Does that work in the next frame, however often it is asked for until then; measured from its beginning until it is
 * on the screen. @param {string} name @param {() => void} work
 */
export function onceAFrame(name, work) {
  let asked = false;
  return () => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      const began = performance.now();
      work();
      shown((end) => measured(name, began, end));
    });
  };
}

/** The frame that is being made now, as in a scroll event. @param {string} name */
export function thisFrame(name) {
  const began = performance.now();
  requestAnimationFrame(() => shown((end) => measured(name, began, end)));
}

/** From an answer of the server until what it says is on the screen. @param {string} name @param {string} path */
export function sinceAnswer(name, path) {
  const [answer] = performance.getEntriesByName(new URL(path, location.href).href);
  requestAnimationFrame(() => shown((end) => {
    if (answer instanceof PerformanceResourceTiming) measured(name, answer.responseEnd, end);
  }));
}

/** A message is taken after the frame's style, layout and paint. @param {(end: number) => void} tell */
function shown(tell) {
  const { port1, port2 } = new MessageChannel();
  port1.onmessage = () => tell(performance.now());
  port2.postMessage(null);
}

/** @param {string} name @param {number} start @param {number} end */
function measured(name, start, end) {
  if (performance.getEntriesByName(name).length >= MOST) performance.clearMeasures(name);
  performance.measure(name, { start, end });
}
