// The last table of depths of each rig, kept on this device for when the boat's computer is away.
import { keep, kept } from '../../lib/keep'
import type { Around, Rigs, Stock, Told } from './types'

const MOST = 8

export interface Stored {
  about: string
  at: number // unix time [ms]
  around: Around
}

function all(): Stored[] {
  try {
    const found: unknown = JSON.parse(kept('rigs.tables') ?? '[]')
    return Array.isArray(found) ? (found as Stored[]) : []
  } catch {
    return []
  }
}

/** The table kept for a rig, or null. */
export function stored(about: string): Stored | null {
  return all().find((each) => each.about === about) ?? null
}

/** Keeps the table that came with an answer. */
export function store(about: string, told: Told): void {
  const rest = all().filter((each) => each.about !== about)
  const now: Stored = { about, at: Date.now(), around: told.around }
  keep('rigs.tables', JSON.stringify([now, ...rest].slice(0, MOST)))
}

/** What is aboard, as it was last told. */
export function aboard(): { rigs: Rigs; stock: Stock } | null {
  try {
    return JSON.parse(kept('rigs.aboard') ?? 'null') as { rigs: Rigs; stock: Stock } | null
  } catch {
    return null
  }
}

export function storeAboard(rigs: Rigs, stock: Stock): void {
  keep('rigs.aboard', JSON.stringify({ rigs, stock }))
}

function between(list: number[], value: number): [number, number] | null {
  if (!list.length || value < list[0]! - 1e-6 || value > list[list.length - 1]! + 1e-6) return null
  let low = 0
  while (low < list.length - 2 && list[low + 1]! <= value) low += 1
  const gap = (list[low + 1] ?? list[low]!) - list[low]!
  return [low, gap > 0 ? Math.min(1, Math.max(0, (value - list[low]!) / gap)) : 0]
}

/** Depth [m] in a table at a let-out and speed, between its figures; null outside it. */
export function depthIn(around: Around, letOut: number, speed: number): number | null {
  const i = between(around.let_outs_m, letOut)
  const j = between(around.speeds_m_s, speed)
  if (!i || !j) return null
  let depth = 0
  for (const [row, rowShare] of [
    [i[0], 1 - i[1]],
    [i[0] + 1, i[1]],
  ] as const)
    for (const [column, share] of [
      [j[0], 1 - j[1]],
      [j[0] + 1, j[1]],
    ] as const) {
      if (rowShare * share === 0) continue
      const figure = around.depths_m[row]?.[column]
      if (figure === null || figure === undefined) return null
      depth += rowShare * share * figure
    }
  return depth
}

/** Let-out [m] in a table for a depth at a speed; null outside it. */
export function letOutIn(around: Around, depth: number, speed: number): number | null {
  let last: [number, number] | null = null
  for (const out of around.let_outs_m) {
    const here = depthIn(around, out, speed)
    if (here === null) continue
    if (last && last[1] <= depth && here >= depth) {
      const gap = here - last[1]
      return last[0] + (gap > 0 ? (out - last[0]) * ((depth - last[1]) / gap) : 0)
    }
    last = [out, here]
  }
  return null
}
