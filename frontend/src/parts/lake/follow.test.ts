import { describe, expect, it } from 'vitest'
import { Follower, steer, type PassWhole } from './follow'
import { levelAbout } from './geo'

const LAT = 46
const LON = -93
const metre = levelAbout(LAT, LON)(LAT + 1e-4, LON + 1e-4)

/** Latitude and longitude so many metres east and north. */
function place(x: number, y: number): [number, number] {
  return [LAT + (y / metre.y) * 1e-4, LON + (x / metre.x) * 1e-4]
}

function pass(
  way: [number, number][],
  todo: { kind: string; run_m: number; let_out_m: number }[],
): PassWhole {
  const places = way.map(([x, y]) => place(x, y))
  return {
    track: { boat_lat: places.map(([lat]) => lat), boat_lon: places.map(([, lon]) => lon) },
    schedule: todo.map((each) => ({ ...each, speed_m_s: 0.9 })),
  } as unknown as PassWhole
}

// north for 400 m, then east for 300 m
const CORNER = pass(
  [
    [0, 0],
    [0, 400],
    [300, 400],
  ],
  [
    { kind: 'start', run_m: 0, let_out_m: 30 },
    { kind: 'let out', run_m: 200, let_out_m: 45 },
  ],
)

describe('where the boat stands on a pass', () => {
  it('is beside it, along it, and what comes next', () => {
    const now = new Follower(CORNER).stand(...place(12, 150), 5)
    expect(now.state).toBe('on')
    expect(now.offM).toBeCloseTo(12, 1) // east of a way north is to starboard
    expect(now.runM).toBeCloseTo(150, 1)
    expect(now.toGoM).toBeCloseTo(550, 1)
    expect(now.headingDeg).toBeCloseTo(0, 3)
    expect(now.courseOffDeg).toBeCloseTo(5, 3)
    expect(now.next?.kind).toBe('let out')
    expect(now.nextM).toBeCloseTo(50, 1)
    expect(now.letOutM).toBe(30)
  })

  it('has done what lies behind', () => {
    const now = new Follower(CORNER).stand(...place(100, 395), null)
    expect(now.runM).toBeCloseTo(500, 1)
    expect(now.offM).toBeCloseTo(5, 1) // south of a way east is to starboard
    expect(now.letOutM).toBe(45)
    expect(now.next).toBeNull()
    expect(now.courseOffDeg).toBeNull()
  })

  it('is before it, far from it, and past its end', () => {
    const follower = new Follower(CORNER)
    expect(follower.stand(...place(0, -40), 0)).toMatchObject({ state: 'to start', runM: 0 })
    const far = follower.stand(...place(-500, 0), 180)
    expect(far.state).toBe('to start')
    expect(far.startM).toBeCloseTo(500, 0)
    expect(far.startDeg).toBeCloseTo(90, 1)
    expect(far.startBowDeg).toBeCloseTo(-90, 1)
    expect(follower.stand(...place(340, 400), 90)).toMatchObject({ state: 'past', toGoM: 0 })
  })

  it('stays on its own leg where the way comes back past itself', () => {
    const there = pass(
      [
        [0, 0],
        [0, 1000],
        [20, 1000],
        [20, 0],
      ],
      [{ kind: 'start', run_m: 0, let_out_m: 30 }],
    )
    const follower = new Follower(there)
    expect(follower.stand(...place(1, 500), 0).headingDeg).toBeCloseTo(0, 1)
    // nearer to the way back by now, and still on the way there
    const now = follower.stand(...place(12, 520), 0)
    expect(now.headingDeg).toBeCloseTo(0, 1)
    expect(now.offM).toBeCloseTo(12, 1)
    // one who comes there anew is on the nearer one
    expect(new Follower(there).stand(...place(12, 520), 180).headingDeg).toBeCloseTo(180, 1)
  })
})

it('steers back to the way, and not for a metre', () => {
  expect([-3, -1.4, 0, 1.4, 3].map(steer)).toEqual(['right', 'on', 'on', 'on', 'left'])
})
