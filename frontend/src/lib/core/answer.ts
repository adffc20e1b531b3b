// Answers a question to a rig as the boat's computer does, from the core: figures, and keys of words.
import type { Ask, PieceShown, Told } from '../../parts/rigs/types'
import type { Core } from './core'
import { Bench, type Layers, type Normals } from './rig'
import { No, towOf, type Tackle, type Tow } from './tackle'

// Columns of what is found, as towscope.towing has them.
const [DEPTH, DEEPEST, LAYBACK, SIDE, TENSION, WET, LET_OUT, SHARE] = [0, 1, 2, 3, 4, 5, 6, 7]
const [DEPTH_LOW, DEPTH_HIGH, OUT_LOW, OUT_HIGH, PER_SPEED, PER_LINE, WITHIN] = [8, 9, 10, 11, 12, 13, 14]
const FOUND = 15
const ANSWER = 7
const GOALS = 50
const RELATIVE = 1e-7
const [SPEEDS, LET_OUTS, SLOWEST, LEAST, POINTS] = [5, 8, 0.2, 2, 70]
const [HEAVY, TOO_HEAVY, OFTEN] = [0.33, 0.6, 0.97]
const PER_0_1_MPH = 0.1 * 0.44704
const PER_10_FT = 10 * 0.3048
const SLOWEST_THROUGH = 0.02

/** What to take care of: a key of the words' group `rig_care`, and the share it tells. */
export interface Care {
  key: string
  share: number
}
/** An answer whose words are still to be put in. */
export interface Answered {
  told: Told
  care: Care[]
}

const six = (figure: number): number => Number(figure.toPrecision(6))
const orNull = (figure: number): number | null => (Number.isFinite(figure) ? six(figure) : null)
const rounded = (figure: number, places: number): number => Math.round(figure * 10 ** places) / 10 ** places

export function answer(core: Core, tackle: Tackle, normals: Normals, ask: Ask): Answered {
  const begun = performance.now()
  const start = core.arena.mark()
  try {
    const tow = towOf(core, tackle, ask)
    const layers: Layers = (ask.current ?? []).map((each) => [
      each.depth_m ?? 0,
      each.along_m_s ?? 0,
      each.across_m_s ?? 0,
    ])
    if (!outruns(ask.speed_m_s, layers))
      throw new No('afloat', { let_out: ask.let_out_m ?? 0, speed: ask.speed_m_s })
    const bench = new Bench(core, tow, normals, layers)
    const found = asked(bench, ask)
    return told(bench, ask, found, tackle, begun)
  } finally {
    core.arena.freeTo(start)
  }
}

function asked(bench: Bench, ask: Ask): Float64Array {
  const { core } = bench
  const speed = ask.speed_m_s
  const found = core.arena.doubles([FOUND])
  const rig = bench.rig(speed)
  if (ask.depth_m !== null && ask.depth_m !== undefined) {
    const depth = ask.depth_m
    if (!core.ask('let_out_for', { rig, depth, desk: bench.desk, found })) outOfReach(bench, depth, speed)
  } else {
    const let_out = ask.let_out_m ?? 0
    if (let_out > bench.length * (1 + 1e-9)) throw new No('too_long', { length: bench.length, let_out })
    if (!core.ask('depth_of', { rig, let_out, desk: bench.desk, found }))
      throw new No('afloat', { let_out, speed })
  }
  return Float64Array.from(found.values)
}

function outOfReach(bench: Bench, depth: number, speed: number): never {
  const { core } = bench
  const goals = core.arena.doubles([GOALS])
  const answers = core.arena.doubles([GOALS, ANSWER])
  const { room, flow } = bench.desk
  const [most, let_out] = core.ask('deepest', { towed: bench.at(speed), goals, answers, room })
  const can = core.ask('speed_that_reaches', {
    still: bench.at(0),
    depth,
    near: speed,
    goals,
    answers,
    flow,
    room,
  })
  throw new No('out_of_reach', { depth, speed, most, let_out, can })
}

function told(bench: Bench, ask: Ask, found: Float64Array, tackle: Tackle, begun: number): Answered {
  const { tow } = bench
  const at = (column: number): number => found[column]!
  const out = at(LET_OUT)
  const counted = count(tow, out)
  const line = shape(bench, out, ask.speed_m_s)
  const { learnt } = tow
  return {
    care: care(bench, found, counted, !ask.uncalibrated),
    told: {
      rig: ask.rig ?? '',
      depth_m: six(at(DEPTH)),
      depth_90_m: [six(at(DEPTH_LOW)), six(at(DEPTH_HIGH))],
      speed_m_s: six(ask.speed_m_s),
      let_out_m: six(out),
      let_out_90_m: [orNull(at(OUT_LOW)), orNull(at(OUT_HIGH))],
      counter_m: six(out / tow.counter_factor),
      colors_out: counted.colors === null ? null : six(counted.colors),
      layback_m: six(at(LAYBACK)),
      side_m: six(at(SIDE)),
      deepest_m: six(at(DEEPEST)),
      tension_n: six(at(TENSION)),
      strength_share: orNull(at(SHARE)),
      depth_per_0_1_mph_m: six(at(PER_SPEED) * PER_0_1_MPH),
      depth_per_10_ft_line_m: six(at(PER_LINE) * PER_10_FT),
      answered_share: six(at(WITHIN)),
      water_density_kg_m3: six(tow.medium[0]!),
      calibrated: learnt
        ? { readings: learnt.readings, since: learnt.since, current_of_today: learnt.along.length > 0 }
        : null,
      current: ask.current ?? [],
      count: { ...counted, words: '' },
      nearby: nearby(bench, out, ask),
      around: around(bench, out, ask),
      shape_m: line,
      pieces: pieces(tow, tackle),
      mind: [],
      made_ms: rounded(performance.now() - begun, 1),
    },
  }
}

function count(tow: Tow, letOut: number): Omit<Told['count'], 'words'> {
  let [end, colors, before, after] = [0, 0, -1, 0]
  let color: number | null = null
  tow.pieces.forEach((piece, i) => {
    const start = end
    end += piece[0]!
    const one = tow.color_length[i]
    if (!one) return
    color ??= one
    if (before < 0) before = start
    colors += Math.min(Math.max(letOut - start, 0), piece[0]!) / one
    after = Math.max(letOut - end, 0)
  })
  if (color === null) return { before_m: 0, colors: null, after_m: 0, color_length_m: null }
  return { before_m: before, colors, after_m: after, color_length_m: color }
}

function care(
  bench: Bench,
  found: Float64Array,
  counted: Omit<Told['count'], 'words'>,
  calibrated: boolean,
): Care[] {
  const cares: Care[] = []
  const share = found[SHARE]!
  if (share >= HEAVY) cares.push({ key: share >= TOO_HEAVY ? 'too_heavy' : 'heavy', share })
  if (found[WITHIN]! < OFTEN) cares.push({ key: 'seldom', share: found[WITHIN]! })
  if (counted.colors && counted.after_m > 0) cares.push({ key: 'backing', share: 0 })
  if (found[LET_OUT]! > 0.97 * bench.length) cares.push({ key: 'spool', share: 0 })
  if (calibrated && bench.tow.left_out) cares.push({ key: 'left_out', share: 0 })
  return cares
}

function outruns(speed: number, layers: Layers): boolean {
  return layers.every(([, along]) => speed - along >= SLOWEST_THROUGH)
}

/** Depth for every let-out at a speed [m]; null where the lure does not run or cannot be asked. */
function depths(bench: Bench, outs: number[], speed: number): (number | null)[] {
  const { core } = bench
  if (!(speed >= 0.05 && speed <= 6) || !outruns(speed, bench.layers)) return outs.map(() => null)
  const mark = core.arena.mark()
  const there = outs.filter((out) => out > 0 && out <= bench.length)
  const answers = core.arena.doubles([there.length, ANSWER])
  const towed = bench.at(speed)
  const { room } = bench.desk
  if (bench.layers.length < 2)
    core.ask('sweep', {
      towed,
      let_outs: core.arena.doubles([there.length], there),
      relative: RELATIVE,
      room,
      answers,
    })
  else
    there.forEach((let_out, i) => {
      const out = core.arena.doubles([ANSWER])
      core.ask('settle', { towed, let_out, relative: RELATIVE, room, out })
      answers.values.set(out.values, i * ANSWER)
    })
  const found = new Map(there.map((out, i) => [out, answers.values[i * ANSWER + DEPTH]!]))
  core.arena.freeTo(mark)
  return outs.map((out) => {
    const depth = found.get(out) ?? NaN
    return depth > 0 ? rounded(depth, 3) : null
  })
}

function nearby(bench: Bench, out: number, ask: Ask): Told['nearby'] {
  const dv = ask.step_speed_m_s ?? 0.089408
  const dl = ask.step_let_out_m ?? 3.048
  const depth = (more: number, faster: number): number | null =>
    depths(bench, [out + more], ask.speed_m_s + faster)[0] ?? null
  return { slower_m: depth(0, -dv), faster_m: depth(0, dv), less_m: depth(-dl, 0), more_m: depth(dl, 0) }
}

function steps(each: number): number[] {
  return Array.from({ length: 2 * each + 1 }, (_, i) => i - each)
}

function around(bench: Bench, out: number, ask: Ask): Told['around'] {
  const dv = ask.step_speed_m_s ?? 0.089408
  const dl = ask.step_let_out_m ?? 3.048
  // a current by depth costs as much for each let-out as one sweep does for all of them
  const [across, down] = bench.layers.length > 1 ? [2, 2] : [SPEEDS, LET_OUTS]
  const speeds = steps(across)
    .map((k) => ask.speed_m_s + k * dv)
    .filter((speed) => speed >= SLOWEST && outruns(speed, bench.layers))
  const middle = Math.round(out / dl) * dl
  const outs = steps(down)
    .map((k) => middle + k * dl)
    .filter((each) => each >= LEAST && each <= bench.length)
  const columns = speeds.map((speed) => depths(bench, outs, speed))
  return {
    speeds_m_s: speeds,
    let_outs_m: outs,
    depths_m: outs.map((_, i) => columns.map((each) => each[i]!)),
  }
}

/** The line from the lure to the rod tip: length, distance behind the tip, depth [m]. */
function shape(bench: Bench, letOut: number, speed: number): [number, number, number][] {
  const { core } = bench
  const { arena } = core
  const { room } = bench.desk
  const found = arena.doubles([FOUND])
  if (!core.ask('where_at', { rig: bench.rig(speed), let_out: letOut, room, found })) return []
  const where = Float64Array.from(found.values)
  const out = arena.doubles([ANSWER])
  const n = core.ask('reach', { towed: bench.at(speed), depth: where[DEPTH]!, relative: RELATIVE, room, out })
  const wet = Math.min(where[WET]!, out.values[WET]!)
  const spacing = Math.max(letOut / POINTS, 0.2)
  const points = arena.doubles([Math.max(2, Math.ceil(wet / spacing) + 1), 4])
  core.ask('shape', { path: room.path, n, wet, points })
  const values = points.values
  const line: [number, number, number][] = []
  for (let i = 0; i < values.length / 4; i++)
    line.push([
      rounded(values[4 * i]!, 2),
      rounded(where[LAYBACK]! - values[4 * i + 1]!, 2),
      rounded(where[DEPTH]! - values[4 * i + 3]!, 3),
    ])
  line.push([rounded(letOut, 2), 0, rounded(-bench.tow.tip, 3)])
  return line
}

function pieces(tow: Tow, tackle: Tackle): PieceShown[] {
  return tow.pieces.map((piece, i) => {
    const color = tow.color_length[i] ?? null
    return {
      line: tow.names[i]!,
      words: tackle.lines[tow.names[i]!]?.words ?? tow.names[i]!,
      length_m: piece[0]!,
      colors: color ? piece[0]! / color : null,
      color_length_m: color,
      strength_n: tow.strength[i] ?? null,
    }
  })
}
