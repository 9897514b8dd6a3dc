// How long a move takes, from the hand to the painted picture.

const NAME = "neckform moved to painted";

/** Measures, once what was put on the page is painted; `then` gets the milliseconds. */
export function painted(at_ms, then) {
  if (at_ms === undefined) return;
  requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => {
      channel.port1.close();
      const end = performance.now();
      performance.measure(NAME, { start: at_ms, end });
      then(end - at_ms);
    };
    channel.port2.postMessage(null);
  });
}
