// Short tones as a further cue; never the only one, and off when asked.
let context = null;
let muted = localStorage.getItem("mute") === "yes";

export const isMuted = () => muted;

export function toggleMute() {
  muted = !muted;
  localStorage.setItem("mute", muted ? "yes" : "no");
  return muted;
}

function tone(hertz, from, length) {
  const oscillator = context.createOscillator(), volume = context.createGain();
  oscillator.frequency.value = hertz;
  volume.gain.setValueAtTime(0.2, context.currentTime + from);
  volume.gain.exponentialRampToValueAtTime(0.001, context.currentTime + from + length);
  oscillator.connect(volume).connect(context.destination);
  oscillator.start(context.currentTime + from);
  oscillator.stop(context.currentTime + from + length);
}

const cues = {
  heard: [[880, 0, 0.12]],
  fault: [[330, 0, 0.25], [220, 0.28, 0.4]],
  complete: [[523, 0, 0.15], [659, 0.16, 0.15], [784, 0.32, 0.3]],
};

// Browsers allow sound only after a key or a click; before that it stays silent.
export function cue(name) {
  if (muted || !navigator.userActivation?.hasBeenActive) return;
  context = context || new AudioContext();
  for (const [hertz, from, length] of cues[name]) tone(hertz, from, length);
}
