import { beforeEach, describe, expect, it } from 'vitest'
import {
  convert,
  example,
  exactly,
  figure,
  read,
  show,
  shownExactly,
  span,
  toSi,
  Unreadable,
  units,
} from './units'

beforeEach(() => {
  units.choice = 'us'
})

describe('figures shown', () => {
  // The international yard and pound agreement of 1959 and the international nautical mile of 1929
  // (NIST Special Publication 811, appendix B) fix these.
  it.each([
    ['us', 'length', 1, 0.3048],
    ['us', 'size', 1, 0.0254],
    ['us', 'distance', 1, 1609.344],
    ['us', 'speed', 1, 0.44704],
    ['us', 'mass', 1, 0.45359237],
    ['us', 'force', 1, 4.4482216152605],
    ['us-knots', 'speed', 1, 1852 / 3600],
    ['metric', 'speed', 3.6, 1],
    ['us', 'temperature', 212, 100],
    ['us', 'temperature', -40, -40],
  ] as const)('%s %s: %d is %d in SI', (choice, kind, shown, si) => {
    units.choice = choice
    expect(convert(si, kind)).toBeCloseTo(shown, 9)
    expect(toSi(shown, kind)).toBeCloseTo(si, 9)
  })

  it('has its unit behind it, with a space that never breaks', () => {
    expect(show(9.144, 'length')).toBe('30\u00a0ft')
    expect(show(0.5, 'ratio')).toBe('50%')
    units.choice = 'metric'
    expect(show(9.144, 'length')).toBe('9.1\u00a0m')
  })

  it('has a minus sign, and none before nothing', () => {
    expect(figure(-3.048, 'length')).toBe('\u221210')
    expect(figure(-0.01, 'length')).toBe('0')
  })

  it('is a dash where there is none', () => {
    for (const none of [null, undefined, NaN, Infinity]) expect(show(none, 'length')).toBe('–')
  })

  it('keeps the half foot that was set, and rounds what was worked out', () => {
    expect(shownExactly(toSi(34.5, 'length'), 'length')).toBe('34.5\u00a0ft')
    expect(shownExactly(10.4, 'length')).toBe('34\u00a0ft') // 34.1207...
    expect(exactly(toSi(34, 'length'), 'length')).toBe(0)
  })

  it('spans with one unit', () => {
    expect(span(toSi(27, 'length'), toSi(30, 'length'), 'length')).toBe('27 to 30\u00a0ft')
  })
})

describe('figures read', () => {
  it.each([
    ['30', 9.144],
    ['30 ft', 9.144],
    ['9.5 m', 9.5],
    ['9,5 m', 9.5],
    ['5 ft 6 in', 1.6764],
    ['5\' 6"', 1.6764],
    ['.5 m', 0.5],
    ['\u22122 m', -2],
  ])('"%s" is %d m', (text, metres) => {
    expect(read(text, 'length')).toBeCloseTo(metres, 9)
  })

  it('counts colours of a coded line past what is before them', () => {
    expect(read('3 colors', 'length', 9.144, 6)).toBeCloseTo(33.432, 9)
    expect(read('1 colour', 'length', 9.144)).toBeCloseTo(9.144, 9)
    expect(() => read('3 colors', 'length')).toThrow(Unreadable)
  })

  it.each(['', '  ', 'deep', '30 kg', '30 ft 2', '1,000', '3 3', '1 mph 2 mph', '1e400'])(
    'refuses "%s", and says what is expected',
    (text) => {
      const kind = text.includes('mph') ? 'speed' : 'length'
      expect(() => read(text, kind)).toThrow(text === '1,000' ? /write 1000/ : /write for example/)
    },
  )

  it('reads its own examples', () => {
    for (const choice of ['us', 'us-knots', 'metric', 'metric-knots'] as const) {
      units.choice = choice
      for (const kind of ['length', 'size', 'speed', 'temperature', 'force', 'mass', 'area'] as const) {
        const text = example(kind).slice(1, -1)
        expect(show(read(text, kind), kind).replace('\u00a0', ' ')).toBe(text)
      }
    }
  })
})
