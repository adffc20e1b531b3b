// What the map says of the straight way from one place to another: land across it, shoals on it.
import type { Position } from 'geojson'
import type { components } from '../../lib/schema'
import { levelAbout, type Metres } from './geo'

type LakeMap = components['schemas']['LakeMap']

export interface Straight {
  /** The way leaves the water of this map: land or an island lies across it. */
  land: boolean
  /** It comes over water less deep than this [m]; null where all of it is deeper than asked. */
  lessThanM: number | null
}

interface Way {
  from: Metres
  to: Metres
}
type Ring = Metres[]

/** Whether two straight pieces cross or touch. */
function crosses(a: Metres, b: Metres, c: Metres, d: Metres): boolean {
  const side = (p: Metres, q: Metres, r: Metres) => (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x)
  return side(a, b, c) * side(a, b, d) <= 0 && side(c, d, a) * side(c, d, b) <= 0
}

function inside(at: Metres, rings: Ring[]): boolean {
  let within = false
  for (const ring of rings) {
    for (let k = 1; k < ring.length; k += 1) {
      const a = ring[k - 1]!
      const b = ring[k]!
      if (a.y > at.y !== b.y > at.y && at.x < a.x + ((at.y - a.y) / (b.y - a.y)) * (b.x - a.x))
        within = !within
    }
  }
  return within
}

/** Whether all of a way lies in one of these shapes: begun in it, and no ring of it crossed. */
function within(way: Way, shapes: Ring[][]): boolean {
  return shapes.some(
    (rings) =>
      inside(way.from, rings) &&
      !rings.some((ring) => ring.some((b, k) => k > 0 && crosses(way.from, way.to, ring[k - 1]!, b))),
  )
}

/** Looks along the straight way on the map; `deepM` is how deep the water should be all along [m]. */
export function straight(
  base: LakeMap,
  from: { lat: number; lon: number },
  to: { lat: number; lon: number },
  deepM: number,
): Straight {
  const level = levelAbout(from.lat, from.lon)
  const way: Way = { from: level(from.lat, from.lon), to: level(to.lat, to.lon) }
  const shapes = (kind: string, depthM?: number): Ring[][] =>
    base.features
      .filter(
        (each) =>
          each.properties.kind === kind && (depthM === undefined || each.properties.depth_m === depthM),
      )
      .map((each) =>
        (each.geometry.coordinates as Position[][]).map((ring) =>
          ring.map(([lon, lat]) => level(lat!, lon!)),
        ),
      )
  if (!within(way, shapes('water'))) return { land: true, lessThanM: null }
  const depths = [
    ...new Set(
      base.features.flatMap((each) =>
        each.properties.kind === 'deeper' ? [Number(each.properties.depth_m)] : [],
      ),
    ),
  ]
  // the shallowest contour that the way comes inside of
  const found = depths.sort((a, b) => a - b).find((depthM) => !within(way, shapes('deeper', depthM)))
  return { land: false, lessThanM: found !== undefined && found <= deepM ? found : null }
}
