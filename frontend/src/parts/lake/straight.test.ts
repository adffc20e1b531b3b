import { expect, it } from 'vitest'
import type { components } from '../../lib/schema'
import { straight } from './straight'

type Ring = [number, number][]

function square(west: number, south: number, east: number, north: number): Ring {
  return [
    [west, south],
    [east, south],
    [east, north],
    [west, north],
    [west, south],
  ]
}

const feature = (kind: string, depth_m: number | null, rings: Ring[]) => ({
  type: 'Feature',
  properties: { kind, depth_m },
  geometry: { type: 'Polygon', coordinates: rings },
})

// a lake 0.1 degrees wide with an island in its middle, and deep water in its north
const LAKE = {
  features: [
    feature('water', null, [square(0, 0, 0.1, 0.1), square(0.04, 0.04, 0.06, 0.06)]),
    feature('deeper', 3, [square(0.005, 0.005, 0.095, 0.095), square(0.03, 0.03, 0.07, 0.07)]),
    feature('deeper', 9, [square(0.01, 0.07, 0.09, 0.09)]),
  ],
} as unknown as components['schemas']['LakeMap']

const way = (from: [number, number], to: [number, number], deepM: number) =>
  straight(LAKE, { lat: from[0], lon: from[1] }, { lat: to[0], lon: to[1] }, deepM)

it('says where land or an island lies across', () => {
  expect(way([0.05, 0.02], [0.05, 0.08], 1).land).toBe(true)
  expect(way([0.02, 0.02], [0.02, 0.2], 1).land).toBe(true)
  expect(way([0.08, 0.02], [0.08, 0.08], 1).land).toBe(false)
})

it('says over which water less deep than asked it comes', () => {
  expect(way([0.08, 0.02], [0.08, 0.08], 8)).toEqual({ land: false, lessThanM: null })
  expect(way([0.035, 0.02], [0.035, 0.08], 10)).toMatchObject({ lessThanM: 3 }) // past the island’s shoal
  expect(way([0.02, 0.02], [0.02, 0.08], 10)).toEqual({ land: false, lessThanM: 9 })
  expect(way([0.02, 0.02], [0.02, 0.08], 8)).toEqual({ land: false, lessThanM: null })
})
