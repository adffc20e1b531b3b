// Where names stand beside their marks on the map so that none lies over another.

export interface Named {
  /** Of the mark on the screen [px]. */
  x: number
  y: number
  /** Of the plate with the name [px]. */
  width: number
  height: number
}

const OFF = 12 // from the mark to its plate [px]
const RINGS = 12 // more than a boat has rods: a free place is always found

interface Box {
  left: number
  right: number
  top: number
  bottom: number
}

function over(a: Box, b: Box): number {
  const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left)
  const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top)
  return wide > 0 && high > 0 ? wide * high : 0
}

/** Gives for each name how far its middle stands from its mark [px]; `taken` are places to leave free. */
export function besideMarks(
  names: Named[],
  taken: { x: number; y: number; r: number }[] = [],
): [number, number][] {
  const blocked: Box[] = taken.map(({ x, y, r }) => ({
    left: x - r,
    right: x + r,
    top: y - r,
    bottom: y + r,
  }))
  for (const { x, y } of names) blocked.push({ left: x - 9, right: x + 9, top: y - 9, bottom: y + 9 })
  return names.map((each) => {
    const aside = each.width / 2 + OFF
    let best: { cost: number; at: [number, number]; box: Box } | null = null
    for (let ring = 0; ring < RINGS; ring += 1) {
      const down = ring * (each.height + 4)
      const tries: [number, number][] = [
        [aside, down],
        [-aside, down],
        [aside, -down],
        [-aside, -down],
      ]
      if (ring) tries.push([0, down], [0, -down])
      for (const at of tries) {
        const [x, y] = [each.x + at[0], each.y + at[1]]
        const box = {
          left: x - each.width / 2,
          right: x + each.width / 2,
          top: y - each.height / 2,
          bottom: y + each.height / 2,
        }
        const cost = blocked.reduce((sum, other) => sum + over(box, other), 0)
        if (!best || cost < best.cost) best = { cost, at, box }
      }
      if (best?.cost === 0) break
    }
    blocked.push(best!.box)
    return best!.at
  })
}
