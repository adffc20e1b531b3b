// The water from the side, on a canvas: bottom, boat, lines and lures.
import { colourOf, shapeOf } from '../../lib/rods'
import { ahead } from './ahead'
import type { Drawn } from './blend'
import { bottom } from './bottom'
import { mark, ways, type Painting, type Way } from './canvas'
import { names } from './names'
import { DEPTHS_W } from './sheets'

export function paint(c: CanvasRenderingContext2D, p: Painting): void {
  const { frame, span, look } = p
  const { X, Z } = ways(span, frame)
  const floor = frame.height - frame.foot

  c.drawImage(p.sheets.back, 0, 0, frame.width, frame.height)
  c.save()
  c.beginPath()
  c.rect(0, 0, frame.width, floor)
  c.clip()
  bottom(c, p, Z, floor)
  c.fillStyle = look.ink
  c.fillRect(0, frame.sky - 1, frame.width, 2)
  for (const line of p.scene.lines) ahead(c, p, line, X, Z)
  for (const line of p.scene.lines) rope(c, p, line, X, Z)
  boat(c, p, X(0))
  for (const line of p.scene.lines) lure(c, p, line, X, Z)
  c.restore()
  names(c, p, X, Z)
  c.drawImage(p.sheets.depths, frame.width - DEPTHS_W, 0, DEPTHS_W, frame.height)
}

function rope(c: CanvasRenderingContext2D, p: Painting, line: Drawn, X: Way, Z: Way): void {
  c.strokeStyle = colourOf(line.rod)
  c.lineWidth = 2
  c.beginPath()
  // Through the middles between points, bent toward the points: a line has no corners.
  const n = line.lineX.length
  const px = (i: number) => X(line.lineX[i] ?? 0)
  const py = (i: number) => Math.max(6, Z(line.lineZ[i] ?? 0))
  c.moveTo(px(0), py(0))
  for (let i = 1; i < n - 1; i++) {
    c.quadraticCurveTo(px(i), py(i), (px(i) + px(i + 1)) / 2, (py(i) + py(i + 1)) / 2)
  }
  c.lineTo(px(n - 1), py(n - 1))
  c.stroke()
}

// The boat, bow to the right; a sign, not to scale.
function boat(c: CanvasRenderingContext2D, p: Painting, x: number): void {
  const y = p.frame.sky
  c.fillStyle = p.look.ink
  c.beginPath()
  c.moveTo(x - 20, y - 9)
  c.lineTo(x + 24, y - 9)
  c.quadraticCurveTo(x + 19, y + 3, x + 9, y + 4)
  c.lineTo(x - 16, y + 4)
  c.closePath()
  c.fill()
  c.fillRect(x - 5, y - 19, 12, 11)
}

function lure(c: CanvasRenderingContext2D, p: Painting, line: Drawn, X: Way, Z: Way): void {
  const { look } = p
  const tone = colourOf(line.rod)
  const x = X(line.x)
  const low = Z(line.low)
  const high = Z(line.high)
  const bar = (width: number, colour: string) => {
    c.strokeStyle = colour
    c.lineWidth = width
    c.beginPath()
    c.moveTo(x, low)
    c.lineTo(x, high)
    c.moveTo(x - 6, low)
    c.lineTo(x + 6, low)
    c.moveTo(x - 6, high)
    c.lineTo(x + 6, high)
    c.stroke()
  }
  bar(5, look.paper)
  bar(2.5, tone)
  if (line.wanted !== null) wanted(c, p, x, Z(line.wanted), Z(line.z), tone)
  mark(c, look, shapeOf(line.rod), x, Z(line.z), tone)
}

// Where the crew wants it: two short strokes with the lure's place between them,
function wanted(
  c: CanvasRenderingContext2D,
  p: Painting,
  x: number,
  y: number,
  from: number,
  tone: string,
): void {
  // and a dotted way to it.
  if (Math.abs(y - from) > 16) {
    c.strokeStyle = tone
    c.lineWidth = 1.5
    c.setLineDash([2, 3])
    c.beginPath()
    c.moveTo(x, from)
    c.lineTo(x, y)
    c.stroke()
    c.setLineDash([])
  }
  for (const [width, colour] of [
    [6, p.look.paper],
    [3, tone],
  ] as const) {
    c.strokeStyle = colour
    c.lineWidth = width
    c.beginPath()
    c.moveTo(x - 22, y)
    c.lineTo(x - 12, y)
    c.moveTo(x + 12, y)
    c.lineTo(x + 22, y)
    c.stroke()
  }
}
