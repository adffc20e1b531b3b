// Small words and figures that these screens share.
import { show } from '../../lib/units'
import type { Spot } from './types'

/** A rate with the figures it deserves: "0.52", "12". */
export function rate(perHour: number): string {
  return perHour < 0.095 ? perHour.toFixed(2) : perHour < 10 ? perHour.toFixed(1) : perHour.toFixed(0)
}

/** Rod-hours: "3.4", "52". */
export function hours(value: number): string {
  return value < 10 ? value.toFixed(1) : value.toFixed(0)
}

export function percent(share: number): string {
  return share > 0.995 ? 'over 99%' : `${Math.round(share * 100)}%`
}

// Twelve or 24 hours as the device has it.
const CLOCK = new Intl.DateTimeFormat(undefined, { hour: 'numeric', minute: '2-digit', timeZone: 'UTC' })
const HOUR = new Intl.DateTimeFormat(undefined, { hour: 'numeric', timeZone: 'UTC' })
const TWELVE = CLOCK.resolvedOptions().hour12 ?? false

/** The boat's clock: "7:42 AM", "07:42". */
export function clock(atS: number, offsetS: number): string {
  return CLOCK.format((atS + offsetS) * 1000)
}

/** The same where there is little room, under an axis: "7 AM", "7:30", "07:30". */
export function clockMark(atS: number, offsetS: number): string {
  const ms = (atS + offsetS) * 1000
  if (!TWELVE) return CLOCK.format(ms)
  return ms % 3_600_000 ? CLOCK.format(ms).replace(/\s*[AP]M$/i, '') : HOUR.format(ms)
}

/** An hour of the day, 0 to 23: "7 AM", "07:00". */
export function hourWords(hour: number): string {
  return clockMark(Math.round(hour) * 3600, 0)
}

/** The clock that an ISO time itself names: "6:12 AM". */
export function clockOf(iso: string | null | undefined): string {
  return iso ? CLOCK.format(Date.parse(iso) + 30_000 + offsetOf(iso) * 1000) : '–'
}

/** A line that begins with a time of 24 hours, with the device's own clock instead. */
export function clockWords(line: string): string {
  return line.replace(/^([01]\d|2[0-3]):([0-5]\d)(?=$|\s)/, (_, h: string, m: string) =>
    clock(Number(h) * 3600 + Number(m) * 60, 0),
  )
}

/** Offset from UTC that an ISO time names [s]. */
export function offsetOf(iso: string): number {
  const found = /([+-])(\d{2}):(\d{2})$/.exec(iso)
  if (!found) return 0
  return (found[1] === '-' ? -1 : 1) * (Number(found[2]) * 3600 + Number(found[3]) * 60)
}

/** A date in words: "Friday, August 14". */
export function dayWords(day: string, year = false): string {
  const options: Intl.DateTimeFormatOptions = {
    weekday: 'long',
    day: 'numeric',
    month: 'long',
    timeZone: 'UTC',
  }
  if (year) options.year = 'numeric'
  return new Date(`${day}T12:00:00Z`).toLocaleDateString(undefined, options)
}

export function plural(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`
}

/** How long ago, in words. */
export function ago(iso: string, nowS: number): string {
  const s = Math.max(0, nowS - Date.parse(iso) / 1000)
  if (s < 90) return 'just now'
  if (s < 5400) return `${Math.round(s / 60)} min ago`
  if (s < 129600) return `${Math.round(s / 3600)} h ago`
  return `${Math.round(s / 86400)} days ago`
}

const KINDS: Record<Spot['kind'], string> = {
  catch: 'Fish',
  strike_missed: 'Missed strike',
  bottom_hit: 'Hit bottom',
  sonar_mark: 'Sonar mark',
}

/** What an event on the timeline says. */
export function spotWords(spot: Spot): { head: string; parts: string[] } {
  const head = spot.kind === 'catch' ? `${KINDS.catch} ${spot.number}` : KINDS[spot.kind]
  const parts: string[] = []
  if (spot.kind === 'catch') {
    const length = spot.length_m ? ` ${show(spot.length_m, 'size')}` : ''
    const fate = spot.kept === null ? '' : spot.kept ? ', kept' : ', released'
    parts.push(`${spot.species || 'fish'}${length}${fate}`)
    if (spot.weight_kg) parts.push(show(spot.weight_kg, 'mass'))
    else if (spot.weight_likely_kg) parts.push(`about ${show(spot.weight_likely_kg, 'mass')}`)
  }
  if (spot.lure) parts.push([spot.lure, spot.colour].filter(Boolean).join(' '))
  if (spot.let_out_m) parts.push(`${show(spot.let_out_m, 'length')} out`)
  if (spot.depth_m) parts.push(`${show(spot.depth_m, 'length')} deep`)
  if (spot.who) parts.push(spot.who)
  return { head, parts }
}
