import { describe, expect, it } from 'vitest'
import { held, hoursOf, kinds, whole, zoomed } from './timeline'
import type { Day, Span } from './types'

const ALL = { from: 0, to: 36_000 }

describe('what is seen of a day', () => {
  it('is first to last, with a little room', () => {
    const day = {
      spans: [{ start_s: 1000, end_s: 11_000 }],
      spots: [{ at_s: 500 }],
      skies: [{ at_s: 12_000 }],
    } as unknown as Day
    expect(whole(day)).toEqual({ from: 500 - 230, to: 12_000 + 230 })
    expect(whole({ spans: [], spots: [], skies: [] } as unknown as Day)).toEqual({ from: 0, to: 3600 })
  })

  it('stays within the day, and no closer than ten minutes', () => {
    expect(held({ from: -500, to: 3100 }, ALL)).toEqual({ from: 0, to: 3600 })
    expect(held({ from: 35_000, to: 38_600 }, ALL)).toEqual({ from: 32_400, to: 36_000 })
    expect(held({ from: 100, to: 101 }, ALL)).toEqual({ from: 100, to: 700 })
    expect(held({ from: -1e6, to: 1e6 }, ALL)).toEqual(ALL)
  })

  it('is zoomed about one moment, which stays where it is', () => {
    const seen = { from: 10_000, to: 20_000 }
    const closer = zoomed(seen, ALL, 2, 12_500)
    expect(closer).toEqual({ from: 11_250, to: 16_250 })
    expect((12_500 - closer.from) / (closer.to - closer.from)).toBeCloseTo(0.25, 9)
  })
})

describe('moments along the foot', () => {
  it('are round ones on the boat’s own clock, with room for their words', () => {
    const halfHour = 19_800 // a zone 5 h 30 min east
    const found = hoursOf(ALL, halfHour, 390)
    expect(found.length).toBeGreaterThan(2)
    expect(found.length * 62).toBeLessThanOrEqual(390 + 62)
    for (const at of found) expect((at + halfHour) % 7200).toBe(0)
    expect(found[0]).toBeGreaterThanOrEqual(ALL.from)
    expect(found.at(-1)).toBeLessThanOrEqual(ALL.to)
  })

  it('are nearer together the closer it is seen', () => {
    const [first, second] = hoursOf({ from: 7000, to: 7600 }, 0, 390)
    expect(second! - first!).toBe(300)
  })
})

it('a lure in another colour is another bar', () => {
  const span = (lure: string, colour: string) => ({ lure, colour }) as Span
  expect(kinds([span('a', 'red'), span('a', 'gold'), span('a', 'red')])).toHaveLength(2)
})
