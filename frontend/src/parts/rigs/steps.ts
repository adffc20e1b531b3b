// Steps that fingers and crews take, in the units shown; and the span that a slider covers.
import { convert, toSi, units, type Kind } from '../../lib/units'

const US = { speed: 0.1, depth: 1, out: 5, change: { speed: 0.2, out: 10 } }
const METRIC = { speed: 0.2, depth: 0.5, out: 2, change: { speed: 0.3, out: 3 } }

/** The steps in the units shown. */
export function steps(): typeof US {
  return units.system === 'us' ? US : METRIC
}

/** A step in SI: what so much of the unit shown is, whatever its zero. */
export function inSi(step: number, kind: Kind): number {
  return toSi(step, kind) - toSi(0, kind)
}

/** An SI figure at the nearest whole step. */
export function whole(si: number, kind: Kind, step: number): number {
  return toSi(Math.round(convert(si, kind) / step) * step, kind)
}

export const SLOWEST = 0.4 // [m/s]
export const FASTEST = 1.8
export const SHALLOWEST = 0.6 // [m]
export const DEEPEST = 120
