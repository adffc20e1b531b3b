// Where the boat is on a planned pass: how far off its way, how far to go, what to do next.
import type { components } from '../../lib/schema'
import { bearing, levelAbout, turn, type Metres } from './geo'

export type PassWhole = components['schemas']['PassWhole']
export type Todo = components['schemas']['Todo']

export const ON_LINE_M = 1.5 // nearer than this is on the line
const BEYOND_M = 25 // so far past its end a pass is over
const FAR_M = 120 // farther off than this the boat is not on the pass yet
const BACK_M = 60 // how far back along it she may have slipped since the last look
const AHEAD_M = 250
const RUN_ON_M = 60

export interface Standing {
  /** "to start": on the way to it; "on": on the pass; "past": its end lies behind. */
  state: 'to start' | 'on' | 'past'
  /** How far to starboard of the way the boat is [m]; negative to port. */
  offM: number
  /** How far along the way [m]. */
  runM: number
  /** To the end of the way [m]. */
  toGoM: number
  /** Direction of the way here [degrees from north]. */
  headingDeg: number
  /** How far the boat's course points to starboard of it [degrees]; null without a course. */
  courseOffDeg: number | null
  /** To the start [m], and which way from the bow [degrees, positive to starboard]. */
  startM: number
  startDeg: number
  startBowDeg: number | null
  /** What is to be done next, and how far off that is [m]. */
  next: Todo | null
  nextM: number
  /** Line that should be out now [m]. */
  letOutM: number
  /** Speed to go [m/s]. */
  speedMS: number
}

/** Follows one pass, fix by fix. */
export class Follower {
  #points: Metres[]
  #run: number[]
  #level: (lat: number, lon: number) => Metres
  #at: number | null = null

  constructor(readonly pass: PassWhole) {
    const { boat_lat: lat, boat_lon: lon } = pass.track
    this.#level = levelAbout(lat[0]!, lon[0]!)
    this.#points = lat.map((each, k) => this.#level(each, lon[k]!))
    this.#run = [0]
    for (let k = 1; k < this.#points.length; k += 1) {
      const a = this.#points[k - 1]!
      const b = this.#points[k]!
      this.#run.push(this.#run[k - 1]! + Math.hypot(b.x - a.x, b.y - a.y))
    }
  }

  /** Length of the boat's way [m]. */
  get lengthM(): number {
    return this.#run.at(-1)!
  }

  /** Says where the boat stands. */
  stand(lat: number, lon: number, courseDeg: number | null): Standing {
    const boat = this.#level(lat, lon)
    const points = this.#points
    let best = { away: Infinity, k: 0, share: 0, off: 0 }
    const look = (from: number, to: number) => {
      for (let k = 0; k < points.length - 1; k += 1) {
        if (this.#run[k + 1]! < from || this.#run[k]! > to) continue
        const a = points[k]!
        const b = points[k + 1]!
        const dx = b.x - a.x
        const dy = b.y - a.y
        const size = Math.hypot(dx, dy)
        if (size < 1e-6) continue
        const raw = ((boat.x - a.x) * dx + (boat.y - a.y) * dy) / (size * size)
        // the first and last straights run on a little: she comes to the one and leaves the other
        const low = k === 0 ? -RUN_ON_M / size : 0
        const high = k === points.length - 2 ? 1 + RUN_ON_M / size : 1
        const share = Math.min(Math.max(raw, low), high)
        const away = Math.hypot(boat.x - a.x - share * dx, boat.y - a.y - share * dy)
        // to starboard of a way that goes (dx, dy) lies (dy, -dx)
        const off = ((boat.x - a.x) * dy - (boat.y - a.y) * dx) / size
        if (away < best.away) best = { away, k, share, off: share === raw ? off : Math.sign(off) * away }
      }
    }
    // a way may come back past itself: look near where she was first
    if (this.#at !== null) look(this.#at - BACK_M, this.#at + AHEAD_M)
    if (best.away > FAR_M) look(-Infinity, Infinity)
    const a = points[best.k]!
    const b = points[best.k + 1]!
    const size = Math.hypot(b.x - a.x, b.y - a.y)
    const runM = this.#run[best.k]! + best.share * size
    const headingDeg = bearing(a, b)
    const start = points[0]!
    const startM = Math.hypot(boat.x - start.x, boat.y - start.y)
    const startDeg = bearing(boat, start)
    const state = best.away > FAR_M || runM < -1 ? 'to start' : runM > this.lengthM + BEYOND_M ? 'past' : 'on'
    this.#at = state === 'on' ? Math.max(runM, 0) : null
    const run = Math.min(Math.max(runM, 0), this.lengthM)
    const todo = this.pass.schedule
    const next = todo.find((each) => each.kind !== 'start' && each.run_m > run + 1) ?? null
    const done = todo.filter((each) => each.run_m <= run + 1).at(-1) ?? todo[0]!
    return {
      state,
      offM: best.off,
      runM: run,
      toGoM: this.lengthM - run,
      headingDeg,
      courseOffDeg: courseDeg === null ? null : turn(headingDeg, courseDeg),
      startM,
      startDeg,
      startBowDeg: courseDeg === null ? null : turn(courseDeg, startDeg),
      next,
      nextM: next ? next.run_m - run : 0,
      letOutM: done.let_out_m,
      speedMS: done.speed_m_s,
    }
  }
}

/** Which way to steer, in words for the helm. */
export function steer(offM: number): 'left' | 'right' | 'on' {
  return Math.abs(offM) <= ON_LINE_M ? 'on' : offM > 0 ? 'left' : 'right'
}
