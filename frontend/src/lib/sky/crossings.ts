// Stepping, turns sought, then halving: when a curve stands at a level, none missed. A step of half an
// hour may leap over a body that shows above the horizon for ten minutes, so each turn of the curve near
// the level is looked at by itself.

type Curve = (moment: number) => number

const STEP_S = 1800
const FINE_S = 0.25 // what a time is found to
// Among samples half an hour apart a body on the sky, which goes 15 degrees an hour, turns at most
// 0.12 degrees above the highest; a turn that is seen farther off does not reach the level.
const NEAR_DEG = 0.25
const GOLDEN = (Math.sqrt(5) - 1) / 2

/** Where a curve with one turn upward between two moments is highest, by golden sections. */
export function highest(curve: Curve, start: number, end: number): number {
  let [a, d] = [start, end]
  let b = d - GOLDEN * (d - a)
  let c = a + GOLDEN * (d - a)
  let [low, high] = [curve(b), curve(c)]
  while (d - a > FINE_S) {
    if (low >= high) {
      ;[d, c, high] = [c, b, low]
      b = d - GOLDEN * (d - a)
      low = curve(b)
    } else {
      ;[a, b, low] = [b, c, high]
      c = a + GOLDEN * (d - a)
      high = curve(c)
    }
  }
  return (a + d) / 2
}

/** The moments from `start` up to `end` at which a curve passes a level, and whether it rises there. */
export function crossings(curve: Curve, start: number, end: number, level: number): [number, boolean][] {
  const height = (moment: number): number => curve(moment) - level
  const count = Math.max(2, Math.ceil((end - start) / STEP_S))
  const at = Array.from({ length: count + 1 }, (_, k) => start + ((end - start) * k) / count)
  // one sample beyond each end: a turn may lie within the first or last step
  const around = [start - STEP_S, ...at, end + STEP_S].map((t): [number, number] => [t, height(t)])
  const turned: [number, number][] = []
  around.forEach(([t, here], k) => {
    const [before, after] = [around[k - 1], around[k + 1]]
    const own: [number, number][] = [[t, here]]
    if (before && after) {
      const peak = here > before[1] && here >= after[1] && here > -NEAR_DEG && here < 0
      const dip = here < before[1] && here <= after[1] && here >= 0 && here < NEAR_DEG
      if (peak || dip) {
        const turn = highest((m) => (peak ? curve(m) : -curve(m)), before[0], after[0])
        own.push([turn, height(turn)])
      }
    }
    turned.push(...own.sort((a, b) => a[0] - b[0]))
  })
  const found: [number, boolean][] = []
  turned.slice(1).forEach(([b, later], k) => {
    const [a, earlier] = turned[k] as [number, number]
    if (earlier >= 0 === later >= 0) return
    let [low, high] = [a, b]
    while (high - low > FINE_S) {
      const middle = (low + high) / 2
      if (height(middle) >= 0 === earlier >= 0) low = middle
      else high = middle
    }
    const moment = (low + high) / 2
    if (moment >= start && moment < end) found.push([moment, later > earlier])
  })
  return found
}
