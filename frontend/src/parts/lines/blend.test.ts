import { describe, expect, it } from 'vitest'
import { Motion, sample, still } from './blend'
import type { Run } from './types'

function run(second: number, more: object = {}): Run {
  return {
    count: second,
    state: 'running',
    boat: { at: new Date(1_800_000_000_000 + second * 1000).toISOString(), ground_speed_m_s: 1 },
    bottom: { along_m: [-20, -10, 0, 10, 20], depth_m: [10, 11, 12, null, 14], sd_m: [1, 1, 1, null, 1] },
    lines: [
      {
        rod: 'port',
        let_out_m: 30,
        along_m: -25 + second,
        depth_m: 8 + second,
        depth_90_m: [7 + second, 9 + second],
        settled_depth_m: 9,
        tension_n: 5,
        shape: [
          [0, 0],
          [-25 + second, 8 + second],
        ],
      },
    ],
    ...more,
  } as unknown as Run
}

describe('a picture taken in', () => {
  it('has each line in points evenly along it', () => {
    const [line] = still(run(0)).lines
    expect(line!.lineX[0]).toBe(0)
    expect(line!.lineX.at(-1)).toBe(-25)
    expect(line!.lineZ[9]).toBeCloseTo((8 * 9) / 27, 5)
  })

  it('has the band that 90 of 100 lie in', () => {
    // two-sided 90 % of a normal distribution: 1.645 standard errors, as tables have it
    expect(still(run(0)).bottom.band[0]).toBeCloseTo(1.645, 3)
  })

  it('knows no bottom where the boat knows none', () => {
    const z = new Float64Array(5)
    const band = new Float64Array(5)
    sample(still(run(0)).bottom, -15, 10, 0, z, band)
    expect([...z]).toEqual([10.5, 11.5, NaN, NaN, NaN])
    sample(still(run(0)).bottom, -35, 5, 0, z, band)
    expect([...z]).toEqual([NaN, NaN, NaN, 10, 10.5])
  })
})

describe('between two pictures', () => {
  it('lures move on evenly', () => {
    const motion = new Motion()
    motion.take(still(run(0)))
    motion.take(still(run(1)))
    const [line] = motion.at(0.25, 0, 1, 1).lines
    expect(line).toMatchObject({ x: -24.75, z: 8.25, low: 7.25, high: 9.25 })
    expect(line!.lineZ.at(-1)).toBeCloseTo(8.25, 5)
    expect(motion.at(7, 0, 1, 1).lines[0]!.x).toBe(-24) // no farther than the latest
  })

  it('nothing is made up over a gap, a jump back or a rod that was not there', () => {
    for (const next of [run(9), run(-1)]) {
      const motion = new Motion()
      motion.take(still(run(0)))
      motion.take(still(next))
      expect(motion.at(0, 0, 1, 1).lines[0]!.x).toBe(next.lines[0]!.along_m)
    }
    const motion = new Motion()
    motion.take(still(run(0, { lines: [] })))
    motion.take(still(run(1)))
    expect(motion.at(0, 0, 1, 1).lines[0]!.x).toBe(-24)
  })
})
