import { expect, it } from 'vitest'
import type { Run } from './types'
import { trouble } from './words'

const run = (state: Run['state'], boat: Partial<Run['boat']> = {}, more: Partial<Run> = {}): Run =>
  ({ state, boat: { at: '2026-08-14T12:00:00Z', source: '', ...boat }, ...more }) as Run

it('says where no position comes what to see to', () => {
  const told = trouble(run('no fix'), 0)
  expect(told).toMatchObject({ head: 'No GPS position', old: true, gps: true })
  expect(told?.todo).toContain('share this phone')
})

it('says where the position has leapt that it waits, not that there is none', () => {
  const told = trouble(run('no fix', { lat: 45, lon: -93 }), 0)
  expect(told?.head).toBe('Position jumped or is new')
  expect(told?.todo).toContain('Waiting for the next fixes')
  expect(told?.gps).toBeUndefined() // nothing to switch on, no other GPS to share
})

it('says how old a lost position is, and since when the picture stands', () => {
  const lines = [{}] as Run['lines']
  const told = trouble(
    run('stale', { lat: 45, lon: -93, age_s: 42 }, { lines, as_of: '2026-08-14T12:00:00Z' }),
    0,
  )
  expect(told?.head).toBe('GPS 42 s old')
  expect(told?.todo).toMatch(/^Depths and lines are from .+, before it was lost\./)
  expect(told).toMatchObject({ old: true, gps: true })
  expect(trouble(run('stale'), 0)?.todo).toMatch(/^Lures can’t be followed without it\./)
})

it('says first that the boat’s computer is silent, whatever was told before', () => {
  expect(trouble(null, 1)?.head).toBe('Waiting for the boat')
  expect(trouble(null, 5)?.head).toBe('No word from the boat')
  expect(trouble(run('running'), 30)?.head).toBe('No word for 30 s')
  expect(trouble(run('running'), 0)).toBeNull()
})
