// Times of day as this phone's own clock writes them: 9:31 PM or 21:31, by its locale, everywhere.

const HM = new Intl.DateTimeFormat(undefined, { hour: 'numeric', minute: '2-digit' })
const HMS = new Intl.DateTimeFormat(undefined, { hour: 'numeric', minute: '2-digit', second: '2-digit' })

/** "9:31 PM" or "21:31"; takes a date, an ISO time or unix seconds. `seconds` adds them. */
export function clock(at: Date | string | number, seconds = false): string {
  const date = at instanceof Date ? at : typeof at === 'number' ? new Date(at * 1000) : new Date(at)
  return Number.isNaN(date.getTime()) ? '–' : (seconds ? HMS : HM).format(date)
}
