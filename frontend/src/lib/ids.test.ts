import { expect, it } from 'vitest'
import { newId } from './ids'

it('is a UUID of version 7: the moment first, as in RFC 9562, appendix A.6', () => {
  const made = newId('', Date.parse('2022-02-22T19:22:22Z'))
  expect(made).toMatch(/^017f22e2-79b0-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/)
})

it('sorts by when it was made, also within one instant', () => {
  const made = Array.from({ length: 500 }, () => newId('', 1_700_000_000_000))
  expect(new Set(made).size).toBe(500)
  expect([...made].sort()).toEqual(made)
})

it('sorts behind what it is about, though that came from a clock that runs ahead', () => {
  const ahead = newId('', 1_800_000_000_000)
  expect(newId(ahead, 1_700_000_000_000) > ahead).toBe(true)
  const last = '017f22e2-79b0-7fff-bfff-ffffffffffff' // no later name in that instant
  expect(newId(last, 1_000) > last).toBe(true)
})
