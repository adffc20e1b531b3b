import { describe, expect, it } from 'vitest'
import { bearing, compass, hand, levelAbout, turn } from './geo'

describe('level metres about a place', () => {
  // Lengths of a degree on the WGS 84 ellipsoid as tables of them have it, to the metre (from memory).
  it.each([
    [0, 110_574, 111_320],
    [15, 110_649, 107_550],
    [30, 110_852, 96_486],
    [45, 111_132, 78_847],
    [60, 111_412, 55_800],
  ])('at latitude %d a degree is %d m north and %d m east', (lat, north, east) => {
    const step = 1e-3
    const at = levelAbout(lat, -93)(lat + step, -93 + step)
    expect(at.y / step).toBeGreaterThan(north - 1)
    expect(at.y / step).toBeLessThan(north + 1)
    expect(at.x / step).toBeGreaterThan(east - 1)
    expect(at.x / step).toBeLessThan(east + 1)
  })

  it('takes the short way over the date line', () => {
    expect(levelAbout(0, 179.999)(0, -179.999).x).toBeCloseTo(222.64, 1)
  })
})

describe('directions', () => {
  const here = { x: 0, y: 0 }

  it.each([
    [0, 1, 0],
    [1, 0, 90],
    [0, -1, 180],
    [-1, 0, 270],
    [1, 1, 45],
  ])('%d east and %d north is %d degrees', (x, y, degrees) => {
    expect(bearing(here, { x, y })).toBeCloseTo(degrees, 9)
  })

  it.each([
    [350, 10, 20],
    [10, 350, -20],
    [90, 270, -180],
    [0, 0, 0],
  ])('from %d to %d is a turn of %d', (from, to, by) => {
    expect(turn(from, to)).toBeCloseTo(by, 9)
  })

  it('are told in eight points, whatever their turn', () => {
    expect([0, 22, 23, 180, 337, 338, -90, 725].map(compass)).toEqual([
      'north',
      'north',
      'northeast',
      'south',
      'northwest',
      'north',
      'west',
      'north',
    ])
  })

  it('are left and right at the helm', () => {
    expect(['port', 'starboard', 'left'].map(hand)).toEqual(['left', 'right', 'left'])
  })
})
