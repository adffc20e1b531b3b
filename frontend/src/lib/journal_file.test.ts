import { describe, expect, it } from 'vitest'
import { NoJournal, readFile, written } from './journal_file'
import type { Made } from './shelf'

const entry = (n: number, more: object = {}): Made => ({
  id: `01900000-0000-7000-8000-${String(n).padStart(12, '0')}`,
  device: 'phone-1',
  kind: 'catch',
  at: '2026-08-15T07:42:00-05:00',
  ...more,
})
const both = [entry(2, { rod: 'port' }), entry(1, { note: 'Zander "über" 5\u2028lb' })]

describe('a log as a file', () => {
  it('comes back the same, in the order of making', () => {
    const text = written(both, 'phone-1', 0)
    expect(readFile(text)).toEqual({ entries: [both[1], both[0]], stretches: 0 })
    expect(readFile(`\ufeff${text}`).entries).toHaveLength(2)
    expect(readFile(written([], 'phone-1', 0)).entries).toEqual([])
  })

  it.each([
    ['', 'no file of a log'],
    ['lat,lon\n48.4,-91.9\n', 'no file of a log'],
    ['{"type":"FeatureCollection"}\n', 'no file of a log'],
    ['[1]\n', 'no file of a log'],
    [written(both, 'x', 0).replace('"towscope_journal":1', '"towscope_journal":9'), 'newer towscope'],
    [written(both, 'x', 0).slice(0, -30), 'cut short'],
    [written(both, 'x', 0).split('\n').slice(0, 3).join('\n'), 'cut short'],
    [written(both, 'x', 0).split('\n').toSpliced(1, 1).join('\n'), 'missing'],
    [written(both, 'x', 0).replace('"kind":"catch"', '"kind":7'), 'no entry'],
    [`${written(both, 'x', 0)}{"entry":{}}\n`, 'after the end'],
  ])('is refused where it is not whole: %#', (text, why) => {
    expect(() => readFile(text)).toThrow(NoJournal)
    expect(() => readFile(text)).toThrow(why)
  })
})
