import { describe, expect, it } from 'vitest'
import { ease, fit, keep, niceStep, pxAlong, pxDeep, stretch, ticks, type Frame } from './scale'

const FRAME: Frame = { width: 390, height: 260, sky: 40, foot: 20, side: 70 }

describe('ticks', () => {
  it.each([
    [0, 30, 6, [0, 5, 10, 15, 20, 25, 30]],
    [-60, 20, 5, [-60, -40, -20, 0, 20]],
    [0, 1, 4, [0, 0.2, 0.4, 0.6, 0.8, 1]],
  ])('from %d to %d, about %d', (low, high, most, wanted) => {
    const found = ticks(low, high, most)
    expect(found).toHaveLength(wanted.length)
    found.forEach((each, i) => expect(each).toBeCloseTo(wanted[i]!, 9))
  })

  it('has steps that people count in, over many sizes', () => {
    for (let range = 0.013; range < 5e4; range *= 1.37) {
      const step = niceStep(range, 5)
      const digit = step / 10 ** Math.floor(Math.log10(step) + 1e-9)
      expect([1, 2, 5]).toContain(Math.round(digit * 1e6) / 1e6)
      expect(range / step).toBeLessThanOrEqual(5 / 0.75)
    }
    expect(niceStep(0, 5)).toBe(1)
    expect(niceStep(NaN, 5)).toBe(1)
  })
})

describe('how much is shown', () => {
  it('leaves room for the label of the last lure, and has the boat in the picture', () => {
    const content = { back: -60, fore: 15, lure: 9, bottom: 12 }
    const span = fit(content, FRAME)
    const px = pxAlong(span, FRAME)
    expect((content.back - span.left) * px).toBeGreaterThanOrEqual(FRAME.side - 1)
    expect(span.right).toBeGreaterThan(15)
    expect(span.deep).toBeCloseTo(13.2, 9)
  })

  it('lets far deeper water not press the lures flat', () => {
    expect(fit({ back: -60, fore: 15, lure: 5, bottom: 80 }, FRAME).deep).toBeCloseTo(12, 9)
    expect(fit({ back: -60, fore: 15, lure: 5, bottom: 5 }, FRAME).deep).toBeCloseTo(6, 9) // a lure that drags
    expect(fit({ back: -60, fore: 15, lure: 5, bottom: null }, FRAME).deep).toBeCloseTo(6.75, 9)
  })

  it('does not breathe with every picture', () => {
    const now = { left: -80, right: 20, deep: 12 }
    expect(keep(null, now)).toBe(now)
    expect(keep(now, { left: -84, right: 21, deep: 11 })).toBe(now)
    for (const want of [
      { left: -95, right: 20, deep: 12 },
      { left: -80, right: 32, deep: 12 },
      { left: -80, right: 20, deep: 12.5 },
      { left: -80, right: 20, deep: 9 },
    ])
      expect(keep(now, want)).toBe(want)
  })

  it('moves from one to the other and stops there', () => {
    const from = { left: -80, right: 20, deep: 12 }
    const to = { left: -40, right: 10, deep: 6 }
    expect(ease(from, to, -1)).toEqual(from)
    expect(ease(from, to, 2)).toEqual(to)
    expect(ease(from, to, 0.5)).toEqual({ left: -60, right: 15, deep: 9 })
  })

  it('tells how much steeper than it is the water is drawn', () => {
    const span = { left: -80, right: 20, deep: 10 }
    expect(pxAlong(span, FRAME)).toBeCloseTo(3.9, 9)
    expect(pxDeep(span, FRAME)).toBeCloseTo(20, 9)
    expect(stretch(span, FRAME)).toBeCloseTo(20 / 3.9, 9)
  })
})
