// Texts and shapes in the day's picture: the sky's words, the bottom, what a bar says.
import { show } from '../../lib/units'
import type { Seen } from './timeline'
import type { Day, Span } from './types'

const LETTER_PX = 8.6 // of the letters in use, about
const BESIDE_S = 600 // the bottom goes on that far beyond what is seen

export interface SkyWord {
  at: number // unix time [s]
  from: number // where the words begin [px]
  text: string
}

/** Sky and water as they changed; none over another. */
export function skyWords(day: Day, x: (t: number) => number, wide: number): SkyWord[] {
  let free = -Infinity
  let sky = ''
  let temp: number | null = null
  return day.skies.flatMap((s) => {
    const words: string[] = []
    if (s.sky && s.sky !== sky) words.push(s.sky)
    if (s.surface_temp_c !== null && s.surface_temp_c !== temp)
      words.push(show(s.surface_temp_c, 'temperature'))
    sky = s.sky ?? sky
    temp = s.surface_temp_c ?? temp
    const from = Math.max(x(s.at_s), free, 4)
    if (!words.length || from > wide - 40) return []
    const text = words.join(', ')
    free = from + text.length * 9 + 12
    return [{ at: s.at_s, from, text }]
  })
}

/** The bottom under the boat as a path, closed along `foot`; "" where it was never sounded. */
export function bedPath(
  day: Day,
  seen: Seen,
  x: (t: number) => number,
  y: (depth: number) => number,
  foot: number,
): string {
  const { at_s, water_depth_m } = day.profile
  const points: string[] = []
  let first = NaN
  let last = NaN
  at_s.forEach((t, i) => {
    const d = water_depth_m[i]
    if (t === null || t === undefined || d === null || d === undefined) return
    if (t < seen.from - BESIDE_S || t > seen.to + BESIDE_S) return
    if (!points.length) first = x(t)
    last = x(t)
    points.push(`${x(t).toFixed(1)} ${y(d).toFixed(1)}`)
  })
  if (!points.length) return ''
  return `M${first.toFixed(1)} ${foot}L${points.join('L')}L${last.toFixed(1)} ${foot}Z`
}

/** What a bar says: the lure and the line out. */
export function barWords(span: Span): string {
  const out = span.let_out_m === null ? '' : `, ${show(span.let_out_m, 'length')}`
  return [span.lure || 'line', span.colour].filter(Boolean).join(' ') + out
}

/** So much of a text as fits into a room [px]; "" where too little does. */
export function fit(text: string, room: number): string {
  const letters = Math.floor(room / LETTER_PX)
  if (letters < 4) return ''
  return text.length <= letters ? text : `${text.slice(0, letters - 1).replace(/[ ,]+$/, '')}…`
}
