// Where the name of each lure stands, so that no two cover one another or another lure's mark.

export interface Tag {
  key: string
  x: number // of the mark [px]
  y: number
  w: number // of the label [px]
  h: number
}

export interface Placed {
  key: string
  left: number
  top: number
}

export interface Box {
  left: number
  top: number
  right: number
  bottom: number
}

const MARK = 11 // half of the mark's box
const GAP = 8 // from mark to label
const STEP = 3

function over(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

function box(left: number, top: number, tag: Tag): Box {
  return { left, top, right: left + tag.w, bottom: top + tag.h }
}

// Each label stands behind its own mark at its height where that is free, else as little above or
// below as will do; where it stood last counts as a little nearer, so that it doesn't hop.
export function place(
  tags: Tag[],
  area: Box,
  before: ReadonlyMap<string, Placed> = new Map(),
  keepOff: readonly Box[] = [],
): Placed[] {
  const marks = tags.map((t) => ({
    key: t.key,
    left: t.x - MARK,
    right: t.x + MARK,
    top: t.y - MARK,
    bottom: t.y + MARK,
  }))
  const done: Box[] = []
  const out: Placed[] = []
  const order = [...tags].sort((a, b) => a.y - b.y || a.x - b.x)
  for (const tag of order) {
    const others = marks.filter((m) => m.key !== tag.key)
    const home = tag.y - tag.h / 2
    const last = before.get(tag.key)
    let best: Box | null = null
    let least = Infinity
    for (const [x, toll] of [
      [tag.x - MARK - GAP - tag.w, 0],
      [tag.x + MARK + GAP, 26],
      [tag.x - tag.w / 2, 40],
    ] as const) {
      const left = Math.min(Math.max(x, area.left), area.right - tag.w)
      for (let top = area.top; top + tag.h <= area.bottom + 0.5; top += STEP) {
        const hop = last ? Math.min(12, 0.5 * Math.hypot(last.left - left, last.top - top)) : 0
        const cost = Math.abs(top - home) + toll + hop + 0.3 * Math.abs(left - x)
        if (cost >= least) continue
        const here = box(left, top, tag)
        if (done.some((b) => over(here, b)) || others.some((m) => over(here, m))) continue
        if (keepOff.some((b) => over(here, b))) continue
        if (over(here, { left: tag.x - 6, right: tag.x + 6, top: tag.y - 6, bottom: tag.y + 6 })) {
          continue
        }
        best = here
        least = cost
      }
    }
    // No room left at all: better unnamed here (the cards name it) than illegible.
    if (best === null) continue
    done.push(best)
    out.push({ key: tag.key, left: best.left, top: best.top })
  }
  return out
}
