// Which shape stands for which rod: told apart without colour, the same on every screen and day.

export const SHAPES = ['disc', 'square', 'up', 'diamond', 'down', 'plus', 'star', 'hexagon'] as const
export type Shape = (typeof SHAPES)[number]

export interface Mark {
  shape: Shape
  tone: number // 1 to 6: the colour --run-rod-N
}

const KEPT = 'towscope.marks'
let known: string[] | null = null

function load(): string[] {
  if (known === null) {
    known = []
    try {
      const text = localStorage.getItem(KEPT)
      const read: unknown = text ? JSON.parse(text) : []
      if (Array.isArray(read)) known = read.filter((n): n is string => typeof n === 'string')
    } catch {
      // private browsing, or nonsense kept: shapes then go by the order in which rods turn up
    }
  }
  return known
}

export function markOf(rod: string): Mark {
  const rods = load()
  let at = rods.indexOf(rod)
  if (at < 0) {
    // A boat has few rods; names used and dropped over the years give way to new ones.
    if (rods.length >= 24) rods.length = 0
    at = rods.push(rod) - 1
    try {
      localStorage.setItem(KEPT, JSON.stringify(rods))
    } catch {
      // see above
    }
  }
  return { shape: SHAPES[at % SHAPES.length] ?? 'disc', tone: (at % 6) + 1 }
}

// Corners of the shape on a circle of radius 1; a disc has none.
function ring(count: number, turn: number, inner = 1): [number, number][] {
  return Array.from({ length: count }, (_, i) => {
    const angle = turn + (2 * Math.PI * i) / count
    const r = i % 2 ? inner : 1
    return [r * Math.cos(angle), r * Math.sin(angle)]
  })
}

const A = 0.36
export const CORNERS: Record<Shape, [number, number][]> = {
  disc: [],
  square: [[-0.85, -0.85], [0.85, -0.85], [0.85, 0.85], [-0.85, 0.85]],
  up: [[0, -1.05], [1.05, 0.85], [-1.05, 0.85]],
  diamond: [[0, -1.2], [1.1, 0], [0, 1.2], [-1.1, 0]],
  down: [[0, 1.05], [1.05, -0.85], [-1.05, -0.85]],
  plus: [
    [-A, -1.1], [A, -1.1], [A, -A], [1.1, -A], [1.1, A], [A, A],
    [A, 1.1], [-A, 1.1], [-A, A], [-1.1, A], [-1.1, -A], [-A, -A],
  ],
  star: ring(10, -Math.PI / 2, 0.48).map(([x, y]) => [x * 1.25, y * 1.25]),
  hexagon: ring(6, 0),
}

export function svgPath(shape: Shape): string {
  const corners = CORNERS[shape]
  if (!corners.length) return 'M-0.95 0A0.95 0.95 0 1 1 0.95 0A0.95 0.95 0 1 1-0.95 0Z'
  return `M${corners.map(([x, y]) => `${x.toFixed(3)} ${y.toFixed(3)}`).join('L')}Z`
}

export function trace(c: CanvasRenderingContext2D, shape: Shape, x: number, y: number, r: number) {
  c.beginPath()
  const corners = CORNERS[shape]
  if (!corners.length) {
    c.arc(x, y, r * 0.95, 0, 2 * Math.PI)
    return
  }
  corners.forEach(([dx, dy], i) => {
    if (i) c.lineTo(x + dx * r, y + dy * r)
    else c.moveTo(x + dx * r, y + dy * r)
  })
  c.closePath()
}
