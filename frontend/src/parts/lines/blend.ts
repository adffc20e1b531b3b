// What is between two pictures: the boat and its lines move on smoothly from one to the next.

import type { LineNow, Run } from './types'

export const POINTS = 28 // along each line
export const STEPS = 25 // of the two minutes ahead

export interface Drawn {
  rod: string
  now: LineNow // the latest picture's: what labels say
  x: number
  z: number
  low: number
  high: number
  wanted: number | null
  lineX: Float32Array
  lineZ: Float32Array
  aheadX: Float32Array
  aheadZ: Float32Array
  ahead: boolean
}

export interface Profile {
  x: Float64Array
  z: Float64Array // NaN where not known
  band: Float64Array // half of the 90 % span
}

export interface Still {
  run: Run
  seconds: number // of the boat's clock
  pace: number // over ground [m/s]
  lines: Drawn[]
  bottom: Profile
}

// 90 % of a normal error lies within so many standard errors (two-sided).
const HALF_90 = 1.6449

function resample(
  xs: readonly number[],
  ys: readonly number[],
  by: readonly number[],
  outX: Float32Array,
  outY: Float32Array,
): void {
  const n = by.length
  const first = by[0] ?? 0
  const whole = (by[n - 1] ?? 0) - first
  let k = 0
  for (let i = 0; i < outX.length; i++) {
    const want = first + (whole * i) / (outX.length - 1)
    while (k < n - 2 && (by[k + 1] ?? 0) < want) k++
    const b0 = by[k] ?? 0
    const b1 = by[k + 1] ?? b0
    const s = b1 > b0 ? Math.min(1, Math.max(0, (want - b0) / (b1 - b0))) : 0
    const x0 = xs[k] ?? 0
    const y0 = ys[k] ?? 0
    outX[i] = x0 + ((xs[k + 1] ?? x0) - x0) * s
    outY[i] = y0 + ((ys[k + 1] ?? y0) - y0) * s
  }
}

function drawn(now: LineNow): Drawn {
  const lineX = new Float32Array(POINTS)
  const lineZ = new Float32Array(POINTS)
  const shape = now.shape ?? []
  if (shape.length > 1) {
    const xs = shape.map((p) => p[0])
    const zs = shape.map((p) => p[1])
    const by = [0]
    for (let i = 1; i < shape.length; i++) {
      const step = Math.hypot((xs[i] ?? 0) - (xs[i - 1] ?? 0), (zs[i] ?? 0) - (zs[i - 1] ?? 0))
      by.push((by[i - 1] ?? 0) + step)
    }
    resample(xs, zs, by, lineX, lineZ)
  } else {
    lineX.fill(now.along_m)
    lineZ.fill(now.depth_m)
  }
  const aheadX = new Float32Array(STEPS)
  const aheadZ = new Float32Array(STEPS)
  const to = now.ahead
  const ahead = !!to && to.time_s.length > 1
  if (to && ahead) resample(to.along_m, to.depth_m, to.time_s, aheadX, aheadZ)
  return {
    rod: now.rod,
    now,
    x: now.along_m,
    z: now.depth_m,
    low: now.depth_90_m[0],
    high: now.depth_90_m[1],
    wanted: now.target_m ?? null,
    lineX,
    lineZ,
    aheadX,
    aheadZ,
    ahead,
  }
}

export function still(run: Run): Still {
  const along = run.bottom?.along_m ?? []
  const depth = run.bottom?.depth_m ?? []
  const sd = run.bottom?.sd_m ?? []
  return {
    run,
    seconds: Date.parse(run.boat.at) / 1000,
    pace: run.boat.ground_speed_m_s ?? run.boat.speed_m_s ?? 0,
    lines: (run.lines ?? []).map(drawn),
    bottom: {
      x: Float64Array.from(along),
      z: Float64Array.from(along, (_, i) => depth[i] ?? NaN),
      band: Float64Array.from(along, (_, i) => HALF_90 * (sd[i] ?? 0)),
    },
  }
}

// Depth and band of a profile at rising places x + shift, into `outZ` and `outBand`.
export function sample(
  p: Profile,
  x0: number,
  step: number,
  shift: number,
  outZ: Float64Array,
  outBand: Float64Array,
): void {
  const n = p.x.length
  let k = 0
  for (let i = 0; i < outZ.length; i++) {
    const x = x0 + i * step + shift
    if (n < 2 || x < (p.x[0] ?? 0) || x > (p.x[n - 1] ?? 0)) {
      outZ[i] = NaN
      outBand[i] = 0
      continue
    }
    while (k < n - 2 && (p.x[k + 1] ?? 0) < x) k++
    const a = p.x[k] ?? 0
    const b = p.x[k + 1] ?? a
    const s = b > a ? (x - a) / (b - a) : 0
    const z0 = p.z[k] ?? NaN
    const b0 = p.band[k] ?? 0
    outZ[i] = z0 + ((p.z[k + 1] ?? NaN) - z0) * s
    outBand[i] = b0 + ((p.band[k + 1] ?? b0) - b0) * s
  }
}

export interface Scene {
  lines: Drawn[]
  z: Float64Array
  band: Float64Array
}

function mix(a: Float32Array, b: Float32Array, s: number, out: Float32Array): void {
  for (let i = 0; i < out.length; i++) {
    const from = a[i] ?? 0
    out[i] = from + ((b[i] ?? 0) - from) * s
  }
}

// Moves from one picture to the next. One object is kept and filled again for each frame, so that
// nothing is left for the collector to sweep in mid-motion.
export class Motion {
  from: Still | null = null
  to: Still | null = null
  readonly scene: Scene = { lines: [], z: new Float64Array(0), band: new Float64Array(0) }
  private z2 = new Float64Array(0)
  private band2 = new Float64Array(0)
  private pairs: [Drawn | null, Drawn, Drawn][] = []

  take(next: Still): void {
    const before = this.to
    // After a gap, a jump back or another boat, nothing is drawn between: it starts afresh.
    const gap = before ? next.seconds - before.seconds : NaN
    this.from = before && gap > 0 && gap < 5 ? before : null
    this.to = next
    this.pairs = next.lines.map((line) => {
      const old = this.from?.lines.find((l) => l.rod === line.rod) ?? null
      const out: Drawn = {
        ...line,
        lineX: line.lineX.slice(),
        lineZ: line.lineZ.slice(),
        aheadX: line.aheadX.slice(),
        aheadZ: line.aheadZ.slice(),
      }
      return [old, line, out]
    })
    this.scene.lines = this.pairs.map((p) => p[2])
  }

  // Fill the scene for the share [0, 1] of the way, the bottom at `count` places from x0 on.
  at(share: number, x0: number, step: number, count: number): Scene {
    const { scene, from, to } = this
    if (scene.z.length !== count) {
      scene.z = new Float64Array(count)
      scene.band = new Float64Array(count)
      this.z2 = new Float64Array(count)
      this.band2 = new Float64Array(count)
    }
    if (!to) return scene
    const s = from ? Math.min(1, Math.max(0, share)) : 1
    for (const [old, now, out] of this.pairs) {
      if (!old) continue
      out.x = old.x + (now.x - old.x) * s
      out.z = old.z + (now.z - old.z) * s
      out.low = old.low + (now.low - old.low) * s
      out.high = old.high + (now.high - old.high) * s
      mix(old.lineX, now.lineX, s, out.lineX)
      mix(old.lineZ, now.lineZ, s, out.lineZ)
      if (old.ahead && now.ahead) {
        mix(old.aheadX, now.aheadX, s, out.aheadX)
        mix(old.aheadZ, now.aheadZ, s, out.aheadZ)
      }
    }
    // The bottom lies still while the boat moves on over it: each picture's is moved to where the
    // boat is between them; where they differ (in a turn) one becomes the other.
    const way = from ? to.pace * (to.seconds - from.seconds) : 0
    sample(to.bottom, x0, step, -(1 - s) * way, scene.z, scene.band)
    if (from && s < 1) {
      sample(from.bottom, x0, step, s * way, this.z2, this.band2)
      for (let i = 0; i < count; i++) {
        const a = this.z2[i] ?? NaN
        const b = scene.z[i] ?? NaN
        if (Number.isNaN(b)) {
          scene.z[i] = a
          scene.band[i] = this.band2[i] ?? 0
        } else if (!Number.isNaN(a)) {
          scene.z[i] = a + (b - a) * s
          const wide = this.band2[i] ?? 0
          scene.band[i] = wide + ((scene.band[i] ?? 0) - wide) * s
        }
      }
    }
    return scene
  }
}
