import { describe, expect, it } from 'vitest'
import { dateOf, dayAt, shifted, stamp } from './when'

describe('a moment as the journal writes it', () => {
  it('is as in the examples of RFC 3339, section 5.8', () => {
    expect(stamp(Date.parse('1996-12-20T00:39:57Z'), -8 * 60)).toBe('1996-12-19T16:39:57-08:00')
    expect(stamp(Date.parse('1937-01-01T11:40:27.87Z'), 20)).toBe('1937-01-01T12:00:27+00:20')
  })

  it('is cut to the second, never rounded up into what is to come', () => {
    expect(stamp(999, 0)).toBe('1970-01-01T00:00:00+00:00')
  })

  it('names the same moment in this device’s own zone', () => {
    const ms = Date.parse('2026-07-01T12:34:56Z')
    expect(Date.parse(stamp(ms))).toBe(ms)
  })
})

describe('a time set right', () => {
  it.each(['2026-08-15T07:42:00-05:00', '2026-08-15T07:42:00+05:30', '2026-08-15T07:42:00Z'])(
    '%s keeps its offset',
    (at) => {
      const later = shifted(at, 90_000)
      expect(Date.parse(later) - Date.parse(at)).toBe(90_000)
      expect(later.slice(-6)).toBe(at.endsWith('Z') ? '+00:00' : at.slice(-6))
    },
  )
})

describe('a day on the water', () => {
  const at = (hour: number, minute: number) => new Date(2026, 7, 15, hour, minute).getTime()

  it('begins at three in the morning, by this device’s clock', () => {
    expect(dateOf(at(2, 59))).toBe('2026-08-15')
    expect(dayAt(at(2, 59))).toBe('2026-08-14')
    expect(dayAt(at(3, 0))).toBe('2026-08-15')
    expect(dayAt(at(23, 59))).toBe('2026-08-15')
  })
})
