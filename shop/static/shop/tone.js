// A short tone for in, out and refused, beside word and symbol. An element with data-tone plays once when it arrives.
// in: one high tone; out: two low tones; refused: one long low tone. Volume stays with the device.

const TONES = { in: [[1320, 0, 0.09]], out: [[330, 0, 0.16], [262, 0.2, 0.26]], refused: [[196, 0, 0.5]] };
let sound = null;

export function play(kind) {
  const notes = TONES[kind];
  if (!notes || !window.AudioContext) return;
  sound ??= new AudioContext();
  if (sound.state === "suspended") sound.resume();
  for (const [pitch, start, length] of notes) {
    const from = sound.currentTime + start;
    const tone = new OscillatorNode(sound, { frequency: pitch, type: "triangle" });
    const loud = new GainNode(sound, { gain: 0 });
    loud.gain.setTargetAtTime(0.25, from, 0.008);
    loud.gain.setTargetAtTime(0, from + length, 0.02);
    tone.connect(loud).connect(sound.destination);
    tone.start(from);
    tone.stop(from + length + 0.15);
  }
}

const told = (root) => (root.matches?.("[data-tone]") ? root : root.querySelector?.("[data-tone]"))?.dataset.tone;
document.addEventListener("htmx:load", (event) => play(told(event.target)));
play(told(document));
