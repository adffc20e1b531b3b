// Times as the journal writes them: ISO 8601 to the second, with the offset from UTC.

const BEGINS_MS = 3 * 3_600_000 // a day on the water begins at three: a night is not cut at midnight

/** A moment [ms] as the journal writes it, in this device's zone or at an offset [min]. */
export function stamp(ms: number, offsetMin = -new Date(ms).getTimezoneOffset()): string {
  const [hours, minutes] = [Math.floor(Math.abs(offsetMin) / 60), Math.abs(offsetMin) % 60].map((n) =>
    String(n).padStart(2, '0'),
  )
  const local = new Date(Math.floor(ms / 1000) * 1000 + offsetMin * 60_000).toISOString().slice(0, 19)
  return `${local}${offsetMin < 0 ? '-' : '+'}${hours}:${minutes}`
}

/** The same time so much later [ms], at the offset it has. */
export function shifted(at: string, byMs: number): string {
  const offset = /([+-])(\d{2}):(\d{2})$/.exec(at)
  const minutes = offset ? (offset[1] === '-' ? -1 : 1) * (Number(offset[2]) * 60 + Number(offset[3])) : 0
  return stamp(Date.parse(at) + byMs, minutes)
}

/** The local date, ISO 8601. */
export function dateOf(ms: number): string {
  const at = new Date(ms)
  return [at.getFullYear(), at.getMonth() + 1, at.getDate()].map((n) => String(n).padStart(2, '0')).join('-')
}

/** The day on the water that a moment belongs to, as the journal has it (towscope.journal.times). */
export function dayAt(ms: number): string {
  return dateOf(ms - BEGINS_MS)
}
