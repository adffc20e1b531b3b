import { expect, it } from 'vitest'
import { clock } from './hours'

const AT = new Date(2026, 7, 15, 21, 31, 5)

it('takes a date, an ISO time or unix seconds', () => {
  const told = clock(AT)
  expect(told).toMatch(/^(21|0?9)\D31/)
  expect(clock(AT.toISOString())).toBe(told)
  expect(clock(AT.getTime() / 1000)).toBe(told)
})

it('adds the seconds where they are asked for', () => {
  expect(clock(AT)).not.toContain('05')
  expect(clock(AT, true)).toContain('05')
})

it('is a dash for what is no time', () => {
  expect(clock('when it is dark')).toBe('–')
  expect(clock(NaN)).toBe('–')
})
