// Distances over the water as people say them: feet while they are near, miles when they are far.
import { convert, show, toSi } from './units'

const NEAR = 0.5 // mile or kilometre: nobody counts feet or metres beyond

function near(m: number): boolean {
  return convert(m, 'distance') < NEAR
}

/** A way over the water: "420 ft", "1.3 mi"; "420 m", "1.3 km". */
export function far(m: number): string {
  if (near(m)) return show(m, 'length', 0)
  const most = convert(m, 'distance')
  const text = most.toFixed(most < 1 ? 2 : most < 10 ? 1 : 0)
  return show(m, 'distance', text.includes('.') ? (text.replace(/\.?0+$/, '').split('.')[1]?.length ?? 0) : 0)
}

/** The greatest round length that is no longer than this [m]. */
export function farRound(m: number): number {
  const kind = near(m) ? 'length' : 'distance'
  const most = convert(m, kind)
  const ten = 10 ** Math.floor(Math.log10(Math.max(most, 1e-6)))
  const step = [5, 2, 1].find((f) => f * ten <= most * (1 + 1e-9)) ?? 1
  return toSi(step * ten, kind)
}
