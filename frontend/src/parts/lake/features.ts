// What the map shows besides the lake itself, as GeoJSON: plans, tracks, what moves.
import type { Feature, FeatureCollection, Position } from 'geojson'
import type { components } from '../../lib/schema'
import { show } from '../../lib/units'
import type { Spot } from '../../lib/wakes'
import { inkOf } from './rods'

type Run = components['schemas']['Run']
type PlanWhole = components['schemas']['PlanWhole']
type Edges = components['schemas']['Edges']

const MARKED = 'hump flat'.split(' ')

function collection(features: Feature[]): FeatureCollection {
  return { type: 'FeatureCollection', features }
}

function line(lat: number[], lon: number[], properties: Feature['properties']): Feature {
  const coordinates: Position[] = lat.map((each, k) => [lon[k]!, each])
  return { type: 'Feature', properties, geometry: { type: 'LineString', coordinates } }
}

function point(lat: number, lon: number, properties: Feature['properties']): Feature {
  return { type: 'Feature', properties, geometry: { type: 'Point', coordinates: [lon, lat] } }
}

/** Ways of a plan; those of the pass that was picked are marked. */
export function planLines(plan: PlanWhole | null, chosen: number): FeatureCollection {
  const features: Feature[] = []
  for (const each of plan?.passes ?? []) {
    const own = { pass: each.number, chosen: each.number === chosen }
    const { track } = each
    // only where the lure is on its edge
    const on = each.schedule.find((todo) => todo.kind === 'on edge')?.time_s ?? 0
    const off = each.schedule.find((todo) => todo.kind === 'off edge')?.time_s ?? Infinity
    const keep = track.time_s.flatMap((t, k) => (t >= on - 2 && t <= off + 2 ? [k] : []))
    const lure = { lat: keep.map((k) => track.lure_lat[k]!), lon: keep.map((k) => track.lure_lon[k]!) }
    if (lure.lat.length > 1) features.push(line(lure.lat, lure.lon, { kind: 'lure', ...own }))
    features.push(line(track.boat_lat, track.boat_lon, { kind: 'boat', ...own }))
    if (each.round) {
      const round = each.round.track
      features.push(line(round.boat_lat, round.boat_lon, { kind: 'round', ...own }))
    }
  }
  return collection(features)
}

/** Numbers at the starts of passes, and at the picked one what line to have out from where on. */
export function planMarks(plan: PlanWhole | null, chosen: number): FeatureCollection {
  const features: Feature[] = []
  for (const each of plan?.passes ?? []) {
    const { boat_lat: lat, boat_lon: lon } = each.track
    features.push(
      point(lat[0]!, lon[0]!, { kind: 'number', image: `number:${each.number}`, pass: each.number }),
    )
    if (each.number !== chosen) continue
    for (const todo of each.schedule) {
      if (todo.kind !== 'line' && todo.kind !== 'start') continue
      features.push(
        point(todo.boat_lat, todo.boat_lon, {
          kind: 'todo',
          image: `todo:${show(todo.let_out_m, 'length')} out`,
        }),
      )
    }
  }
  return collection(features)
}

/** Places of the words for edges, humps and flats, points and inside turns. */
export function tops(found: Edges | null): FeatureCollection {
  const features: Feature[] = []
  for (const each of found?.features ?? []) {
    const p = each.properties as Record<string, unknown>
    const kind = String(p.kind)
    if (kind === 'edge') {
      // a word in its middle: once, however the map is cut up
      const middle = (each.geometry.coordinates as Position[]).at(
        Math.floor((each.geometry.coordinates as Position[]).length / 2),
      )!
      features.push(point(middle[1]!, middle[0]!, p))
      continue
    }
    if (MARKED.includes(kind)) features.push(point(Number(p.latitude), Number(p.longitude), p))
    else features.push(each as unknown as Feature)
  }
  return collection(features)
}

/** Where boat and lures have been. */
export function tracks(boat: Spot[], lures: Map<string, Spot[]>): FeatureCollection {
  const features: Feature[] = []
  const add = (spots: Spot[], kind: string, rod: string) => {
    if (spots.length < 2) return
    features.push(
      line(
        spots.map((s) => s.lat),
        spots.map((s) => s.lon),
        { kind, rod, ...(rod ? { ink: inkOf(rod) } : {}) },
      ),
    )
  }
  add(boat, 'boat', '')
  for (const [rod, spots] of lures) add(spots, 'lure', rod)
  return collection(features)
}

/** Where lures will be in the next two minutes. */
export function ahead(run: Run | null): FeatureCollection {
  const features: Feature[] = []
  for (const each of run?.lines ?? []) {
    const lat = each.ahead?.lat ?? []
    const lon = each.ahead?.lon ?? []
    if (lat.length > 1 && lat.some((v) => v !== 0))
      features.push(line(lat, lon, { rod: each.rod, ink: inkOf(each.rod) }))
  }
  return collection(features)
}

/** Lures that have a place. */
export function lures(run: Run | null): { rod: string; lat: number; lon: number }[] {
  return (run?.lines ?? []).flatMap(({ rod, lat, lon }) => (lat || lon ? [{ rod, lat: lat, lon: lon }] : []))
}

/** Boat and lures where they are now; `beside` is where each name stands from its lure [px]. */
export function now(run: Run | null, beside: [number, number][]): FeatureCollection {
  const features: Feature[] = []
  lures(run).forEach(({ rod, lat, lon }, k) => {
    features.push(point(lat, lon, { kind: 'lure', rod, image: `lure:${rod}` }))
    features.push(point(lat, lon, { kind: 'name', rod, image: `rod:${rod}`, offset: beside[k] ?? [0, 0] }))
  })
  const boat = run?.boat
  if (boat && boat.lat !== null && boat.lat !== undefined && boat.lon !== null && boat.lon !== undefined) {
    const known = boat.course_deg !== null && boat.course_deg !== undefined
    features.push(
      point(boat.lat, boat.lon, {
        kind: 'boat',
        course: known ? boat.course_deg : 0,
        image: known ? 'mark:boat' : 'mark:still',
      }),
    )
  }
  return collection(features)
}

/** What the journal has of the day at a place: a fish by its number, a sonar mark, a bottom hit. */
export interface Logged {
  kind: 'fish' | 'sonar mark' | 'bottom hit'
  number: number
  lat: number
  lon: number
  words: string
}

/** Fish, sonar marks and bottom hits of the day. */
export function logged(day: Logged[]): FeatureCollection {
  return collection(
    day.map((each) =>
      point(each.lat, each.lon, {
        kind: each.kind,
        words: each.words,
        image: each.kind === 'fish' ? `fish:${each.number}` : `mark:${each.kind}`,
        rank: each.kind === 'fish' ? 1 : 0,
      }),
    ),
  )
}

/** Where the crew tapped. */
export function pin(at: { lat: number; lon: number } | null): FeatureCollection {
  return collection(at ? [point(at.lat, at.lon, { kind: 'pin' })] : [])
}
