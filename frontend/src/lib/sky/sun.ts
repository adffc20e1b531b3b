// Sun and moon over a day at a place, as `towscope sun` has them, with no connection: their places are
// astronomy-engine's. A day of the sun runs from the lowest it stands to the next lowest, so that every
// sunset belongs to one day, be it after midnight by the clock; a day of the moon is the calendar's.
//
// References: Explanatory Supplement to the Astronomical Almanac (1992), section 9.3: rising and setting
// are of the upper limb with 34' of refraction, civil twilight of 6 degrees.
import { Body, Equator, Horizon, MoonPhase, Observer, SearchMoonPhase, SiderealTime } from 'astronomy-engine'
import { stamp } from '../when'
import { crossings, highest } from './crossings'

/** Times are ISO 8601 by this device's clock; null where the thing does not happen. */
export interface Day {
  dawn: string | null
  sunrise: string | null
  noon: string
  sunset: string | null
  dusk: string | null
  /** While the sun stands from 6 degrees below the horizon to 6 above. */
  low_light: [string, string][]
  moonrises: string[]
  moonsets: string[]
  moon_age_days: number
  moon_phase: string
  moon_always: 'up' | 'down' | null
  sun_always: 'up' | 'down' | null
  /** Whether the sun only just touches the horizon: then the air decides. */
  sun_grazes: boolean
}

const LOW = 6
const TWILIGHT = -6
const REFRACTION = 34 / 60
const SUN_AT_HORIZON = -50 / 60 // that and half the sun's width
const GRAZING = 0.3
const MONTH = 29.530589
const DAY_S = 86_400
const MOON_KM = 1737.4
const AU_KM = 149_597_870.7
const PHASES: [number, string][] = [
  [0, 'new moon'],
  [0.25, 'first quarter'],
  [0.5, 'full moon'],
  [0.75, 'last quarter'],
  [1, 'new moon'],
]
const BETWEEN = ['waxing crescent', 'waxing gibbous', 'waning gibbous', 'waning crescent']

const date = (moment: number): Date => new Date(moment * 1000)
const iso = (moment: number): string => stamp(Math.round(moment) * 1000)
const degrees = (radians: number): number => (radians * 180) / Math.PI

/** Sun and moon for a day ("2026-07-18") at a place [degrees]. */
export function day(latitude: number, longitude: number, on: string): Day {
  const here = new Observer(latitude, longitude, 0)
  const heights = new Map<number, number>() // of the sun, asked for several levels
  const seen = (body: Body, moment: number) => {
    const place = Equator(body, date(moment), here, true, true)
    return { place, height: Horizon(date(moment), here, place.ra, place.dec).altitude }
  }
  const sun = (moment: number): number => {
    const known = heights.get(moment)
    if (known !== undefined) return known
    const { height } = seen(Body.Sun, moment)
    heights.set(moment, height)
    return height
  }
  const moon = (moment: number): number => {
    const { place, height } = seen(Body.Moon, moment)
    return height + degrees(Math.asin(MOON_KM / (place.dist * AU_KM)))
  }
  /** How far the sun is past the meridian [degrees]. */
  const past = (moment: number): number => {
    const { ra } = seen(Body.Sun, moment).place
    const angle = (SiderealTime(date(moment)) - ra) * 15 + longitude
    return ((((angle + 180) % 360) + 360) % 360) - 180
  }

  const [year, month, number] = on.split('-').map(Number) as [number, number, number]
  const midnight = (days: number): number => new Date(year, month - 1, number + days).getTime() / 1000
  const clock = new Date(year, month - 1, number, 12).getTime() / 1000
  const even = Date.UTC(year, month - 1, number, 12) / 1000 - longitude * 240
  const middle = even + DAY_S * Math.round((clock - even) / DAY_S)
  const lowest = (around: number): number => highest((t) => -sun(t), around - 7200, around + 7200)
  const [begin, end] = [lowest(middle - DAY_S / 2), lowest(middle + DAY_S / 2)]
  // half a day beyond, to where the sun stands highest: no spell of low light lasts longer
  const [first, last] = [begin - DAY_S / 2, end + DAY_S / 2]
  const upAndDown = (found: [number, boolean][]): [number | null, number | null] => {
    const own = found.filter(([t]) => t >= begin && t < end)
    return [own.find(([, up]) => up)?.[0] ?? null, own.filter(([, up]) => !up).at(-1)?.[0] ?? null]
  }

  const [rise, set] = upAndDown(crossings(sun, first, last, SUN_AT_HORIZON))
  const twilight = crossings(sun, first, last, TWILIGHT)
  const [dawn, dusk] = upAndDown(twilight)
  const ends = [...twilight, ...crossings(sun, first, last, LOW)].map(([t]) => t)
  const spells = lowLight(sun, [first, ...ends.sort((a, b) => a - b), last])
  const noon = crossings(past, middle - 2400, middle + 2400, 0)[0]?.[0] ?? middle
  const turns = [sun(noon), sun(begin), sun(end)]
  const moonAt = crossings(moon, midnight(0), midnight(1), -REFRACTION)
  const newMoon = SearchMoonPhase(0, date(noon), -30)
  const moment = (found: number | null): string | null => (found === null ? null : iso(found))
  return {
    dawn: moment(dawn),
    sunrise: moment(rise),
    noon: iso(noon),
    sunset: moment(set),
    dusk: moment(dusk),
    low_light: spells.filter(([a, b]) => b > begin && a < end).map(([a, b]) => [iso(a), iso(b)]),
    moonrises: moonAt.filter(([, up]) => up).map(([t]) => iso(t)),
    moonsets: moonAt.filter(([, up]) => !up).map(([t]) => iso(t)),
    moon_age_days: newMoon ? (noon - newMoon.date.getTime() / 1000) / DAY_S : NaN,
    moon_phase: phase(MoonPhase(date(noon)) / 360),
    moon_always: moonAt.length ? null : moon(middle) > -REFRACTION ? 'up' : 'down',
    sun_always: rise !== null || set !== null ? null : sun(noon) > SUN_AT_HORIZON ? 'up' : 'down',
    sun_grazes: turns.some((turn) => Math.abs(turn - SUN_AT_HORIZON) < GRAZING),
  }
}

/** The spells between edges in which the light is low, joined where they meet. */
function lowLight(sun: (moment: number) => number, edges: number[]): [number, number][] {
  const spells: [number, number][] = []
  edges.slice(1).forEach((b, k) => {
    const a = edges[k] as number
    const height = sun((a + b) / 2)
    if (height <= TWILIGHT || height > LOW) return
    const before = spells.at(-1)
    if (before && before[1] === a) before[1] = b
    else spells.push([a, b])
  })
  return spells
}

/** The moon's phase in words, by the part of its round from new moon to new moon. */
export function phase(part: number): string {
  const marked = PHASES.find(([middle]) => Math.abs(part - middle) < 1 / MONTH)
  return marked ? marked[1] : (BETWEEN[Math.floor(part * 4)] ?? '')
}
