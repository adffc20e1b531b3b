// How the day is laid out on the timeline: what is seen, and where it stands.
import type { Day, Span } from './types'

/** Own inks for the lures, told apart by most eyes and in grey; each bar carries its words too. */
export const INKS = 6

export interface Seen {
  from: number
  to: number
}

/** The whole day that is worth seeing: first to last line, with a little room. */
export function whole(day: Day): Seen {
  const times = [
    ...day.spans.flatMap((s) => [s.start_s, s.end_s]),
    ...day.spots.map((s) => s.at_s),
    ...day.skies.map((s) => s.at_s),
  ]
  if (!times.length) return { from: 0, to: 3600 }
  const from = Math.min(...times)
  const to = Math.max(...times)
  const room = Math.max(0.02 * (to - from), 120)
  return { from: from - room, to: to + room }
}

/** Keeps what is seen within the day and no closer than ten minutes. */
export function held(seen: Seen, all: Seen): Seen {
  const span = Math.min(Math.max(seen.to - seen.from, 600), all.to - all.from)
  const from = Math.min(Math.max(seen.from, all.from), all.to - span)
  return { from, to: from + span }
}

/** Closer (over 1) or further about one moment. */
export function zoomed(seen: Seen, all: Seen, by: number, about: number): Seen {
  return held({ from: about - (about - seen.from) / by, to: about + (seen.to - about) / by }, all)
}

const STEPS = [300, 600, 900, 1800, 3600, 7200, 10800, 21600]

/** Moments to mark along the foot, on the boat's clock. */
export function hoursOf(seen: Seen, offset: number, wide: number): number[] {
  const step = STEPS.find((s) => ((seen.to - seen.from) / s) * 62 <= wide) ?? 43200
  const first = Math.ceil((seen.from + offset) / step) * step - offset
  const out: number[] = []
  for (let t = first; t <= seen.to; t += step) out.push(t)
  return out
}

/** The lures of the day, in order: which ink each has. */
export function kinds(spans: Span[]): string[] {
  return [...new Set(spans.map(kindOf))]
}

export function kindOf(span: Span): string {
  return `${span.lure}\n${span.colour}`
}
