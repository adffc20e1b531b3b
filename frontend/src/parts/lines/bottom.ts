// The bottom under the boat, with how well it is known, and where it is not.
import { AXIS, widthOf, type Painting, type Way } from './canvas'
import { pxAlong } from './scale'
import { DEPTHS_W } from './sheets'

export function bottom(c: CanvasRenderingContext2D, p: Painting, Z: Way, floor: number): void {
  const { z, band } = p.scene
  const { x0, step } = p.grid
  const { look, span, frame } = p
  const sx = pxAlong(span, frame)
  const px = (i: number) => (x0 + i * step - span.left) * sx
  const n = z.length
  let i = 0
  while (i < n) {
    const blind = i
    while (i < n && Number.isNaN(z[i])) i++
    const first = i
    if (first > blind) {
      unknown(c, p, blind ? px(blind - 1) : 0, first < n ? px(first) : frame.width, floor)
    }
    while (i < n && !Number.isNaN(z[i])) i++
    if (i - first < 2) continue
    const last = i - 1
    const run = (pick: (k: number) => number, colour: string) => {
      c.fillStyle = colour
      c.beginPath()
      c.moveTo(px(first), floor)
      for (let k = first; k <= last; k++) c.lineTo(px(k), Math.min(floor, Z(pick(k))))
      c.lineTo(px(last), floor)
      c.closePath()
      c.fill()
    }
    run((k) => Math.max(0, (z[k] ?? 0) - (band[k] ?? 0)), look.doubt)
    run((k) => (z[k] ?? 0) + (band[k] ?? 0), look.ground)
    c.strokeStyle = look.edge
    c.lineWidth = 2.5
    c.beginPath()
    for (let k = first; k <= last; k++) {
      const y = Z(z[k] ?? 0)
      if (k === first) c.moveTo(px(k), y)
      else c.lineTo(px(k), y)
    }
    c.stroke()
    // Dots, not dashes: dashing a long line costs more than all else in the picture.
    if (p.keepClear > 0) {
      c.fillStyle = look.edge
      for (let k = first; k <= last; k++) {
        c.fillRect(px(k) - 1, Z((z[k] ?? 0) - p.keepClear) - 1, 2, 2)
      }
    }
  }
}

// Where the bottom isn't known: slanting strokes along the foot, and words where there is room.
function unknown(c: CanvasRenderingContext2D, p: Painting, left: number, right: number, floor: number): void {
  const high = Math.min(34, (floor - p.frame.sky) * 0.25)
  c.save()
  c.beginPath()
  c.rect(left, floor - high, right - left, high)
  c.clip()
  c.strokeStyle = p.look.faint
  c.lineWidth = 3
  c.beginPath()
  const first = Math.floor((left - high) / 14) * 14
  for (let x = first; x < right; x += 14) {
    c.moveTo(x, floor)
    c.lineTo(x + high, floor - high)
  }
  c.stroke()
  c.restore()
  const said = 'bottom not known'
  const w = widthOf(c, said, AXIS)
  const from = Math.max(0, left)
  const to = Math.min(p.frame.width - DEPTHS_W, right)
  if (to - from < w + 12) return
  c.font = AXIS
  c.textAlign = 'center'
  c.textBaseline = 'middle'
  c.fillStyle = p.look.water
  c.fillRect((from + to) / 2 - w / 2 - 4, floor - high / 2 - 9, w + 8, 18)
  c.fillStyle = p.look.ink
  c.fillText(said, (from + to) / 2, floor - high / 2 + 1)
}
