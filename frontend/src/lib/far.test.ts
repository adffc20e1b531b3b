import { beforeEach, expect, it } from 'vitest'
import { far, farRound } from './far'
import { units } from './units'

const FOOT = 0.3048
const MILE = 1609.344

beforeEach(() => {
  units.choice = 'us'
})

it.each([
  [420 * FOOT, '420\u00a0ft'],
  [0.49 * MILE, '2587\u00a0ft'],
  [0.75 * MILE, '0.75\u00a0mi'],
  [1.3 * MILE, '1.3\u00a0mi'],
  [2 * MILE, '2\u00a0mi'],
  [12.4 * MILE, '12\u00a0mi'],
])('%d m is %s', (m, told) => {
  expect(far(m)).toBe(told)
})

it('is told in metres and kilometres to others', () => {
  units.choice = 'metric'
  expect(far(420)).toBe('420\u00a0m')
  expect(far(1300)).toBe('1.3\u00a0km')
})

it.each([
  [0.9 * FOOT, 0.5 * FOOT],
  [130 * FOOT, 100 * FOOT],
  [499 * FOOT, 200 * FOOT],
  [1000 * FOOT, 1000 * FOOT],
  [0.7 * MILE, 0.5 * MILE],
  [3 * MILE, 2 * MILE],
])('the greatest round length within %d m is %d m', (m, round) => {
  expect(farRound(m)).toBeCloseTo(round, 6)
})
