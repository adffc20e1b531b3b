// What to do about lures that are about to hit bottom: one action for the whole boat, and what else
// would do it. Line and speed come first; a turn is the helm's own business, never hurried, and only
// where the water is seen to be clear.

import { convert, decimals, show, toSi, units, type Kind } from '../../lib/units'
import type { Change, LineNow, Run } from './types'

const REEL_STEP = { us: 5, metric: 1 } // of the unit shown: hands count no finer

/** A figure that must not fall short, rounded up to a step of the unit shown. */
function atLeast(si: number, kind: Kind, step: number): number {
  return toSi(Math.ceil(convert(si, kind) / step - 1e-6) * step, kind)
}

/** Line to reel in, rounded up as hands count [m]. */
export function reelIn(change: Change): number {
  return atLeast(Math.abs(change.by_m ?? 0), 'length', REEL_STEP[units.system])
}

function listed(names: string[]): string {
  return names.length < 2 ? (names[0] ?? '') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`
}

/** What to do, for all rods at once: "reel in 10 ft on port and centre". */
export function act(change: Change, run: Run): string {
  if (change.kind === 'speed') {
    const grain = 10 ** -decimals('speed')
    return `speed up to ${show(atLeast(change.speed_m_s ?? 0, 'speed', grain), 'speed')}`
  }
  if (change.kind === 'turn') {
    const turn = Math.round(change.turn_deg ?? 0)
    const side = turn < 0 ? 'port' : 'starboard'
    return `turn ${Math.abs(turn)}° to ${side}, only if the water there is clear`
  }
  const rods = change.rods ?? []
  const own = rods.map((rod) => run.lines?.find((l) => l.rod === rod)).filter((l) => !!l)
  const by = reelIn(change)
  const which = rods.length > 1 || (run.notices?.length ?? 0) > 1 ? ` on ${listed(rods)}` : ''
  if (own.length && own.every((line: LineNow) => by > line.let_out_m - 3)) {
    return rods.length > 1 ? `bring in ${listed(rods)}` : `bring in the ${rods[0]} line`
  }
  const lift = change.lifts ? ` to lift ${rods.length > 1 ? 'them' : 'it'}` : ''
  return `reel in ${show(by, 'length')}${which}${lift}`
}

/** When to begin: now, or by when; nothing of a turn. */
export function when(change: Change, elapsed: number): string {
  if (change.latest_s === null || change.latest_s === undefined) return ''
  const left = Math.round(change.latest_s - elapsed)
  return left <= 5 ? ' now' : ` within ${left}\u00a0s`
}

/** All there is to do, first things first. */
export function actions(run: Run, elapsed: number): string[] {
  return (run.do ?? []).map((change) => act(change, run) + when(change, elapsed))
}
