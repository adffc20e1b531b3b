// The lures' names: what they say, where they stand, drawn once for each picture.
import { colourOf, shapeOf } from '../../lib/rods'
import { figure, show } from '../../lib/units'
import type { Drawn } from './blend'
import { BIG, mark, SMALL, ways, widthOf, type Look, type Painting, type Warned, type Way } from './canvas'
import { hitPoint } from './ahead'
import { place, type Placed, type Tag } from './labels'
import type { Frame, Span } from './scale'
import { pen, sheet, type Sheets } from './sheets'
import { onBottom } from './words'

export const LABEL_H = 38
export const LABEL_H_SHORT = 22

// What the label of a lure says, in one or two rows.
export function labelRows(line: Drawn, short: boolean): [string, string] {
  const depth = show(line.now.depth_m, 'length')
  if (short) return [`${line.rod} ${depth}`, '']
  const off = line.now.off_bottom_m
  if (off === null || off === undefined) return [line.rod, depth]
  return [line.rod, onBottom(line.now) ? `${depth}, on bottom` : `${depth}, ${figure(off, 'length')} off`]
}

// Where labels stand; worked out once for each picture, not for each frame.
export function labelsFor(
  c: CanvasRenderingContext2D,
  lines: Drawn[],
  span: Span,
  frame: Frame,
  before: ReadonlyMap<string, Placed>,
  warned: readonly Warned[],
): Map<string, Placed> {
  const short = isShort(lines, frame)
  const { X, Z } = ways(span, frame)
  const tags: Tag[] = lines.map((line) => {
    const [one, two] = labelRows(line, short)
    return {
      key: line.rod,
      x: X(line.x),
      y: Z(line.z),
      w: labelWidth(c, one, two),
      h: short ? LABEL_H_SHORT : LABEL_H,
    }
  })
  const area = {
    left: 2,
    right: frame.width - 2,
    top: frame.sky + 2,
    bottom: frame.height - frame.foot - 2,
  }
  const hits = warned.flatMap((w) => {
    const line = lines.find((l) => l.rod === w.rod)
    const at = line && hitPoint(line, w.seconds, X, Z)
    return at ? [{ left: at[0] - 13, right: at[0] + 13, top: at[1] - 13, bottom: at[1] + 13 }] : []
  })
  return new Map(place(tags, area, before, hits).map((p) => [p.key, p]))
}

function isShort(lines: Drawn[], frame: Frame): boolean {
  return lines.length * (LABEL_H + 4) > frame.height - frame.sky - frame.foot
}

// Draw the label of each lure anew.
export function drawLabels(on: Sheets, lines: Drawn[], frame: Frame, look: Look, sharp: number): void {
  const short = isShort(lines, frame)
  const h = short ? LABEL_H_SHORT : LABEL_H
  const drawn = new Map<string, HTMLCanvasElement>()
  for (const line of lines) {
    const [one, two] = labelRows(line, short)
    const old = on.labels.get(line.rod)
    const key = `${one}|${two}|${look.ink}|${colourOf(line.rod)}|${sharp}`
    if (old?.dataset.key === key) {
      drawn.set(line.rod, old)
      continue
    }
    const scratch = document.createElement('canvas').getContext('2d')
    const w = scratch ? labelWidth(scratch, one, two) : 100
    const made = sheet(w, h, sharp)
    made.dataset.key = key
    const c = pen(made, sharp, false)
    c.fillStyle = look.paper
    c.fillRect(0, 0, w, h)
    c.strokeStyle = colourOf(line.rod)
    c.lineWidth = 2
    c.strokeRect(1, 1, w - 2, h - 2)
    c.fillStyle = look.ink
    c.font = BIG
    c.fillText(one, 6, 16)
    c.font = SMALL
    if (two) c.fillText(two, 6, 32)
    drawn.set(line.rod, made)
  }
  on.labels = drawn
}

function labelWidth(c: CanvasRenderingContext2D, one: string, two: string): number {
  return Math.ceil(Math.max(widthOf(c, one, BIG), two ? widthOf(c, two, SMALL) : 0) + 12)
}

export function names(c: CanvasRenderingContext2D, p: Painting, X: Way, Z: Way): void {
  const { look } = p
  const h = isShort(p.scene.lines, p.frame) ? LABEL_H_SHORT : LABEL_H
  for (const line of p.scene.lines) {
    const at = p.labels.get(line.rod)
    const drawn = p.sheets.labels.get(line.rod)
    if (!at || !drawn) continue
    const w = (drawn.width * h) / drawn.height
    const x = X(line.x)
    const y = Z(line.z)
    // A thread from label to mark where it had to stand aside.
    const edge = x < at.left ? at.left : Math.min(x, at.left + w)
    const mid = at.top + h / 2
    if (Math.abs(mid - y) > 6 || Math.abs(edge - x) > 26) {
      const tone = colourOf(line.rod)
      c.strokeStyle = tone
      c.lineWidth = 1.5
      c.beginPath()
      c.moveTo(edge, mid)
      c.lineTo(x, y)
      c.stroke()
      mark(c, look, shapeOf(line.rod), x, y, tone)
    }
    c.drawImage(drawn, at.left, at.top, w, h)
  }
}
