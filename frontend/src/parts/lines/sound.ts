// A short sound that carries over an outboard, made here: no file is fetched.

let context: AudioContext | null = null

export function ready(): boolean {
  try {
    context ??= new AudioContext()
    void context.resume()
    return true
  } catch {
    return false // a device without sound
  }
}

// Two pitches, since hearing loss rarely takes both; three pulses where it surely hits.
export function beep(sure: boolean): void {
  if (!ready() || !context) return
  const pulses = sure ? 3 : 1
  for (let i = 0; i < pulses; i++) {
    const at = context.currentTime + 0.02 + i * 0.22
    for (const pitch of [740, 1480]) {
      const tone = context.createOscillator()
      const level = context.createGain()
      tone.type = 'square'
      tone.frequency.value = pitch
      level.gain.setValueAtTime(0.0001, at)
      level.gain.exponentialRampToValueAtTime(0.16, at + 0.015)
      level.gain.setValueAtTime(0.16, at + 0.13)
      level.gain.exponentialRampToValueAtTime(0.0001, at + 0.17)
      tone.connect(level).connect(context.destination)
      tone.start(at)
      tone.stop(at + 0.2)
    }
  }
}
