// Lures about to hit bottom: how long until, what is said aloud, what was silenced.

import { keep, kept } from '../../lib/keep'
import { live } from '../../lib/stream'
import { beep, ready } from './sound'
import { LOST_AFTER, warning, type Warning } from './words'

const SAME_S = 25 // a prediction may wander so far in time and still be the same hit
const GONE_S = 8 // a hit not foreseen for so long is over
const BEAT_MS = 250

const NONE: Warning[] = []

interface Hush {
  at: number // when it was foreseen for, this device's clock [s]
  seen: number
}

class Alarm {
  /** This device's clock, four times a second [s]. */
  nowS = $state(Date.now() / 1000)
  sound = $state(kept('sound') === 'on')
  spoken = $state('')
  #hushed = $state.raw<ReadonlyMap<string, Hush>>(new Map())
  #said = new Map<string, string>()
  #beeped = 0
  #shaken = 0

  /** Seconds since the newest picture came; since the page was opened where none has. */
  get silentS(): number {
    return Math.max(0, this.nowS - (live.cameS ?? this.#opened))
  }
  #opened = Date.now() / 1000

  // Half seconds since the picture; its own value, so that what stands on it changes no oftener.
  readonly #elapsed: number = $derived(Math.floor(this.silentS * 2) / 2)

  /** What is coming, the most pressing first. */
  readonly warnings: Warning[] = $derived.by(() => {
    const run = live.run
    if (!run || !/^(running|stale)$/.test(run.state) || !run.notices?.length) return NONE
    const elapsed = this.#elapsed
    return (
      (run.notices ?? [])
        .filter((n) => n.seconds - elapsed > -3)
        .map((n) => warning(n, elapsed, run))
        // Sure before likely.
        .sort((a, b) => Number(b.sure) - Number(a.sure) || a.seconds - b.seconds)
    )
  })

  /** Whether every hit now foreseen was silenced. */
  readonly hushed: boolean = $derived(this.warnings.every((w) => this.#hushed.has(w.rod)))
  readonly lost: boolean = $derived(this.silentS > LOST_AFTER)

  start(): void {
    setInterval(() => this.#beat(), BEAT_MS)
  }

  hush(): void {
    const now = this.nowS
    this.#hushed = new Map(this.warnings.map((w) => [w.rod, { at: now + w.seconds, seen: now }]))
    navigator.vibrate?.(0)
  }

  unhush(): void {
    this.#hushed = new Map()
  }

  /** Turned on by a tap, which is what lets a page sound at all. */
  turnSound(on: boolean): void {
    this.sound = on
    keep('sound', on ? 'on' : 'off')
    if (on && ready()) beep(false)
  }

  #beat(): void {
    this.nowS = Date.now() / 1000
    const warnings = this.warnings
    this.#forget(warnings)
    this.#speak(warnings)
    const loud = warnings.find((w) => !this.#hushed.has(w.rod) && w.seconds > 0)
    if (!loud) return
    const now = this.nowS
    if (this.sound && now - this.#beeped >= (loud.sure ? 1.5 : 4)) {
      this.#beeped = now
      beep(loud.sure)
    }
    if (now - this.#shaken >= (loud.sure ? 4 : 12)) {
      this.#shaken = now
      // Browsers refuse it, and say so in their console, before the first tap on the page.
      if (navigator.userActivation?.hasBeenActive !== false) {
        navigator.vibrate?.(loud.sure ? [350, 120, 350, 120, 350] : [250])
      }
    }
  }

  #forget(warnings: Warning[]): void {
    if (!this.#hushed.size) return
    const next = new Map<string, Hush>()
    for (const [rod, hush] of this.#hushed) {
      const still = warnings.find((w) => w.rod === rod)
      const at = still ? this.nowS + still.seconds : hush.at
      if (still && Math.abs(at - hush.at) < SAME_S) next.set(rod, { at, seen: this.nowS })
      else if (!still && this.nowS - hush.seen < GONE_S) next.set(rod, hush)
    }
    this.#hushed = next
  }

  // A voice that counts down each second can't be followed: said when it comes up, when the
  // advice changes, and once more near the end.
  #speak(warnings: Warning[]): void {
    const told: string[] = []
    for (const w of warnings) {
      const stage = `${w.sure}|${w.first.replace(/\d+\ss$/, '')}|${w.seconds <= 10}`
      if (this.#said.get(w.rod) === stage) continue
      this.#said.set(w.rod, stage)
      if (!this.#hushed.has(w.rod)) told.push(w.spoken)
    }
    for (const rod of this.#said.keys()) {
      if (!warnings.some((w) => w.rod === rod)) this.#said.delete(rod)
    }
    if (told.length) this.spoken = told.join(' ')
    else if (!warnings.length) this.spoken = ''
  }
}

export const alarm = new Alarm()
