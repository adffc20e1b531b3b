// The boat's time on this device: how far its own clock is off, measured against the boat's. What is
// logged gets the boat's time; a device's clock is never believed where the boat's is known.
import { api } from './api'
import { keep, kept } from './keep'
import type { components } from './schema'
import { live } from './stream'

export type BoatTime = components['schemas']['ClockNow']

const NEAR_S = 2 // clocks this near agree: the way over the air takes about as long
const SET_S = 3 // a clock that leaps by more was set, or the device slept
const SLOW_MS = 4000 // an answer that took longer tells little
const AGAIN_MS = 10 * 60_000
const SOON_MS = 5000 // where nothing is known yet
const TELL_S = 60 // what the crew is told of

/** How far the wall clock is from one that is never set [ms]. */
const gap = (): number => Date.now() - performance.now()

class Clock {
  /** How far this device's clock is ahead of the boat's [s]; null where that is not known. */
  aheadS = $state<number | null>(null)
  /** What the boat's computer last told of its own clock. */
  boat = $state.raw<BoatTime | null>(null)

  #told = $state(Number(kept('clock.told') ?? 0)) // the difference that the crew has read of [s]
  #toldBoat = $state(Number(kept('clock.boat') ?? 0))
  #gap = gap()
  #askedMs = -Infinity
  #set = new Set<(byMs: number) => void>()

  constructor() {
    setInterval(() => this.look(), 1000)
    document.addEventListener('visibilitychange', () => this.look())
    live.onBack(() => void this.measure())
    void this.measure()
  }

  /** Looks whether this device's clock was set meanwhile: what was measured is then worth nothing. */
  look(): void {
    const now = gap()
    const leap = now - this.#gap
    this.#gap = now
    if (Math.abs(leap) > SET_S * 1000) {
      this.aheadS = null
      // forward it may only have slept; back it was set
      if (leap < 0) for (const done of this.#set) done(leap)
      void this.measure()
      return
    }
    const waitMs = this.aheadS === null ? SOON_MS : AGAIN_MS
    if (live.state === 'live' && performance.now() - this.#askedMs > waitMs) void this.measure()
  }

  /** Calls `done` where this device's clock was set back, with by how much [ms], below 0. */
  onSetBack(done: (byMs: number) => void): () => void {
    this.#set.add(done)
    return () => this.#set.delete(done)
  }

  /** Measures anew; what is known stays where the boat is not in reach. */
  async measure(): Promise<void> {
    this.#askedMs = performance.now()
    const [began, before] = [Date.now(), gap()]
    try {
      const told = await api.get('/api/journal/clock', { query: { now: new Date(began).toISOString() } })
      this.boat = told
      if (Math.abs(gap() - before) > 1000) return // set or asleep in between: the next look asks anew
      if (Date.now() - began > SLOW_MS) return
      this.#heard((began + Date.now()) / 2 - Date.parse(told.now))
    } catch {
      // not in reach: what is made meanwhile is set right when it is sent
    }
  }

  #heard(aheadMs: number): void {
    const ahead = Math.round(aheadMs / 1000)
    this.aheadS = Math.abs(ahead) > NEAR_S ? ahead : 0
  }

  /** A moment of this device's clock, by the boat's [ms]. */
  boatMs(ms: number): number {
    return ms - (this.aheadS ?? 0) * 1000
  }

  /** How far this device's clock is off, where the crew has not read of it yet [s]; else 0. */
  get news(): number {
    const ahead = this.aheadS ?? 0
    return Math.abs(ahead) > TELL_S && Math.abs(ahead - this.#told) > TELL_S ? ahead : 0
  }

  /** How far the computer's own clock is behind satellite time, likewise [s]. */
  get boatNews(): number {
    const behind = this.boat?.source === 'gps' ? this.boat.computer_behind_s : 0
    return Math.abs(behind) > TELL_S && Math.abs(behind - this.#toldBoat) > TELL_S ? behind : 0
  }

  /** The crew has read it. */
  read(): void {
    this.#told = this.aheadS ?? 0
    this.#toldBoat = this.boat?.computer_behind_s ?? 0
    keep('clock.told', String(this.#told))
    keep('clock.boat', String(this.#toldBoat))
  }
}

/** A difference of clocks in words: "3 h 5 min". */
export function spanOf(seconds: number): string {
  const minutes = Math.round(Math.abs(seconds) / 60)
  const [days, hours] = [Math.floor(minutes / 1440), Math.floor((minutes % 1440) / 60)]
  if (days) return days === 1 ? '1 day' : `${days} days`
  return [hours && `${hours} h`, minutes % 60 && `${minutes % 60} min`].filter(Boolean).join(' ') || '1 min'
}

export const clock = new Clock()
