// Tackle as the core takes it, written by Python (towscope.answers.tackle_data); and a rig made of it.
import tables from '../units.json'
import type { Core } from './core'
import type { Ask, RigIn } from '../../parts/rigs/types'

export interface Learnt {
  drag: number[][]
  friction: number[][]
  weight: number[][]
  lures: number[][]
  let_out_scale: number[]
  along: number[]
  since: string | null
  readings: number
}
/** A rig made ready: pieces from the lure up, each [length, diameter, weights, drag figures]. */
export interface Tow {
  pieces: number[][]
  lure: number[]
  medium: number[]
  tip: number
  names: string[]
  color_length: (number | null)[]
  strength: (number | null)[]
  group: number[]
  line_sd: number[][]
  lure_sd: number[]
  counter_factor: number
  learnt: Learnt | null
  /** Whether readings taught something of its parts that is not in it. */
  left_out?: boolean
}
interface Rating {
  depth: number
  let_out: number
  line: string
  speed: number
  tip: number
}
export interface Tackle {
  form: number
  medium: number[]
  lines: Record<
    string,
    {
      words: string
      piece: number[]
      mass: number
      solid: number
      color_length: number | null
      strength: number | null
      sd: number[]
      taught: boolean
    }
  >
  lures: Record<string, { lure: number[]; sd: number[]; rating: Rating | null; taught: boolean }>
  unknown_lure: {
    drag_per_size_squared: Record<string, number>
    drag_sd: number
    dive_sd: number
    weight_sd: number
    trim: number
    tip: number
  }
  rigs: Record<string, Tow>
  calibrated: Record<string, Tow>
}

/** The form of the tackle that this app reads. */
export const FORM = 1

/** There is no answer; `why` is a key of the words' group `no_answer`, with figures [m, m/s]. */
export class No extends Error {
  constructor(
    readonly why: string,
    readonly figures: Record<string, number | string> = {},
  ) {
    super(why)
  }
}

const { length, speed } = tables.typed
const UNITS: Record<string, { scale: number } | undefined> = { ...length, ...speed }

/** A quantity as the rig's builder writes it ("12.5 ft", "10 colors"), in SI. */
export function quantity(text: string, color: number | null = null): number {
  const found = /^\s*([\d.]+)\s*(\S+)\s*$/.exec(text)
  const unit = found?.[2] ?? ''
  const scale = /^colou?rs?$/.test(unit) ? color : UNITS[unit]?.scale
  const figure = Number(found?.[1]) * (scale ?? NaN)
  if (!Number.isFinite(figure)) throw new No('unknown', { part: text })
  return figure
}

function of<T>(things: Record<string, T>, name: string): T {
  const found = Object.hasOwn(things, name) ? things[name] : undefined
  if (found === undefined) throw new No('unknown', { part: name })
  return found
}

/** The water at a temperature [°C] and the air: densities and kinematic viscosities. */
export function mediumAt(core: Core, tackle: Tackle, temperature: number): number[] {
  const density = core.ask('water_density', { t: temperature })
  const viscosity = core.ask('water_viscosity', { t: temperature })
  return [density, viscosity / density, tackle.medium[2]!, tackle.medium[3]!]
}

function pieceOf(core: Core, tackle: Tackle, name: string, length: number, medium: number[]): number[] {
  const line = of(tackle.lines, name)
  const row = [...line.piece]
  row[0] = length
  if (medium[0] !== tackle.medium[0])
    row[2] = core.ask('weight_of_soaked', {
      mass: line.mass,
      diameter: row[1]!,
      solid: line.solid,
      density: medium[0]!,
    })
  return row
}

function diveOf(
  core: Core,
  tackle: Tackle,
  rating: Rating,
  drag: number,
  weight: number,
  medium: number[],
): number {
  const { arena } = core
  const piece = pieceOf(core, tackle, rating.line, rating.let_out + 1, medium)
  if (rating.depth >= rating.let_out - rating.tip) throw new No('rating')
  const mark = arena.mark()
  const [area, , came] = core.ask('dive_area', {
    towed: {
      pieces: arena.doubles([1, 8], piece),
      lure: arena.doubles([3], [drag, 0, weight]),
      medium: arena.doubles([4], medium),
      flow: arena.doubles([1, 3], [0, rating.speed, 0]),
      air_speed: rating.speed,
      tip: rating.tip,
    },
    depth: rating.depth,
    let_out: rating.let_out,
    lure: arena.doubles([3]),
    room: { path: arena.doubles([2000, 33]), ends: arena.doubles([1]) },
    out: arena.doubles([7]),
  })
  arena.freeTo(mark)
  if (came !== 0) throw new No('rating')
  return area
}

interface Own {
  lure: number[]
  sd: number[]
  taught: boolean
}

function lureOf(core: Core, tackle: Tackle, name: string, medium: number[]): Own {
  const { lure, sd, rating, taught } = of(tackle.lures, name)
  if (!rating || medium[0] === tackle.medium[0]) return { lure, sd, taught }
  const [drag = 0, , weight = 0] = lure
  return { lure: [drag, diveOf(core, tackle, rating, drag, weight, medium), weight], sd, taught }
}

/** A lure of which only its package tells. */
function packaged(core: Core, tackle: Tackle, said: Record<string, unknown>, medium: number[]): Own {
  const usual = tackle.unknown_lure
  const text = said as { body?: string; size?: string; rating?: Record<string, string> }
  const told = text.rating ?? {}
  const drag = of(usual.drag_per_size_squared, text.body ?? '') * quantity(text.size ?? '') ** 2
  const rating: Rating = {
    depth: quantity(told.depth ?? ''),
    let_out: quantity(told.let_out ?? ''),
    line: told.line ?? '',
    speed: quantity(told.speed ?? ''),
    tip: usual.tip,
  }
  const dive = diveOf(core, tackle, rating, drag, 0, medium)
  const sd = [usual.drag_sd, usual.dive_sd, usual.weight_sd, usual.trim * drag]
  return { lure: [drag, dive, 0], sd, taught: false }
}

function stacked(
  core: Core,
  tackle: Tackle,
  parts: [string, number][],
  own: Own,
  tip: number,
  medium: number[],
): Tow {
  const names = parts.map(([name]) => name)
  const order = [...new Set(names)]
  const lines = names.map((name) => of(tackle.lines, name))
  return {
    pieces: parts.map(([name, length]) => pieceOf(core, tackle, name, length, medium)),
    lure: own.lure,
    medium,
    tip,
    names,
    color_length: lines.map((line) => line.color_length),
    strength: lines.map((line) => line.strength),
    group: names.map((name) => order.indexOf(name)),
    line_sd: lines.map((line) => line.sd),
    lure_sd: own.sd,
    counter_factor: 1,
    learnt: null,
    left_out: own.taught || lines.some((line) => line.taught),
  }
}

function built(core: Core, tackle: Tackle, spec: RigIn, medium: number[], lure: string): Tow {
  const parts = spec.line.map((piece): [string, number] => [
    piece.line,
    quantity(piece.length, of(tackle.lines, piece.line).color_length),
  ])
  const said = lure ? undefined : spec.lures?.[spec.lure]
  const own = said ? packaged(core, tackle, said, medium) : lureOf(core, tackle, lure || spec.lure, medium)
  const tow = stacked(core, tackle, parts, own, quantity(spec.tip_height ?? '3 ft'), medium)
  return { ...tow, counter_factor: spec.counter_factor ?? 1 }
}

/** The rig that is asked, made ready as Python makes it. */
export function towOf(core: Core, tackle: Tackle, ask: Ask): Tow {
  const water = ask.water_c ?? null
  const medium = water === null ? tackle.medium : mediumAt(core, tackle, water)
  const lure = ask.lure ?? ''
  if (ask.spec) return built(core, tackle, ask.spec, medium, lure)
  const name = ask.rig ?? ''
  const stated = of(tackle.rigs, name)
  const taught = ask.uncalibrated ? undefined : tackle.calibrated[name]
  if (!lure && water === null) return taught ?? stated
  // what readings taught is of this lure in this water: said as left out
  const parts = stated.names.map((line, i): [string, number] => [line, stated.pieces[i]![0]!])
  if (!lure) throw new No('unknown', { part: name })
  const tow = stacked(core, tackle, parts, lureOf(core, tackle, lure, medium), stated.tip, medium)
  return { ...tow, counter_factor: stated.counter_factor }
}
