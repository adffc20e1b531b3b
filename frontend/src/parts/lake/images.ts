// Words and marks for the map, drawn here: letters of a map's own would have to be fetched.
import type { Palette } from './style'

const SCALE = 2 // pixels to a point: sharp on a phone
const FONT = 'system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "DejaVu Sans", sans-serif'

export interface Drawn {
  data: ImageData
  pixelRatio: number
}

function sheet(width: number, height: number): CanvasRenderingContext2D {
  const canvas = document.createElement('canvas')
  canvas.width = Math.max(2, Math.ceil(width * SCALE))
  canvas.height = Math.max(2, Math.ceil(height * SCALE))
  const pen = canvas.getContext('2d', { willReadFrequently: true })
  if (!pen) throw new Error('no canvas to draw on')
  pen.scale(SCALE, SCALE)
  pen.textBaseline = 'middle'
  pen.lineJoin = 'round'
  return pen
}

function done(pen: CanvasRenderingContext2D): Drawn {
  const { width, height } = pen.canvas
  return { data: pen.getImageData(0, 0, width, height), pixelRatio: SCALE }
}

function widthOf(words: string, font: string): number {
  const pen = sheet(2, 2)
  pen.font = font
  return pen.measureText(words).width
}

/** A depth on its contour: figures with a rim, no plate. */
export function depthWord(words: string, colour: string, rim: string): Drawn {
  const font = `650 13px ${FONT}`
  const width = widthOf(words, font) + 8
  const pen = sheet(width, 18)
  pen.font = font
  pen.lineWidth = 4
  pen.strokeStyle = rim
  pen.strokeText(words, 4, 9.5)
  pen.fillStyle = colour
  pen.fillText(words, 4, 9.5)
  return done(pen)
}

/** How large a plate with a mark before these words is [px]. */
export function plateSize(words: string): { width: number; height: number } {
  return { width: widthOf(words, `700 14px ${FONT}`) + 34, height: 26 }
}

/** Words on a plate, with a mark before them where `mark` draws one. */
export function plate(
  words: string,
  ink: string,
  ground: string,
  mark?: (pen: CanvasRenderingContext2D, x: number, y: number) => void,
  bold = true,
): Drawn {
  const font = `${bold ? 700 : 600} 14px ${FONT}`
  const lead = mark ? 20 : 0
  const width = widthOf(words, font) + 12 + lead
  const height = 24
  const pen = sheet(width + 2, height + 2)
  pen.beginPath()
  pen.roundRect(1, 1, width, height, 6)
  pen.fillStyle = ground
  pen.fill()
  pen.lineWidth = 1.5
  pen.strokeStyle = ink
  pen.stroke()
  pen.fillStyle = ink
  pen.strokeStyle = ink
  mark?.(pen, 13, 13)
  pen.font = font
  pen.fillStyle = ink
  pen.fillText(words, 7 + lead, 13.8)
  return done(pen)
}

/** A number in a ring: where a pass starts. */
export function ring(words: string, ink: string, ground: string): Drawn {
  const pen = sheet(32, 32)
  pen.beginPath()
  pen.arc(16, 16, 14, 0, 2 * Math.PI)
  pen.fillStyle = ground
  pen.fill()
  pen.lineWidth = 2.5
  pen.strokeStyle = ink
  pen.stroke()
  pen.font = `800 17px ${FONT}`
  pen.textAlign = 'center'
  pen.fillStyle = ink
  pen.fillText(words, 16, 17)
  return done(pen)
}

/** A fish that was caught: a disc with its number of the day. */
export function disc(words: string, ink: string, ground: string): Drawn {
  const pen = sheet(28, 28)
  pen.beginPath()
  pen.arc(14, 14, 12, 0, 2 * Math.PI)
  pen.fillStyle = ink
  pen.fill()
  pen.lineWidth = 2
  pen.strokeStyle = ground
  pen.stroke()
  pen.font = `800 14px ${FONT}`
  pen.textAlign = 'center'
  pen.fillStyle = ground
  pen.fillText(words, 14, 14.8)
  return done(pen)
}

/** Where the crew tapped: a pin whose point stands there. */
export function pin(ink: string, rim: string): Drawn {
  const pen = sheet(28, 36)
  pen.beginPath()
  pen.moveTo(14, 34.5)
  pen.bezierCurveTo(8, 25, 3.5, 20, 3.5, 13)
  pen.arc(14, 13, 10.5, Math.PI, 0)
  pen.bezierCurveTo(24.5, 20, 20, 25, 14, 34.5)
  pen.closePath()
  pen.fillStyle = ink
  pen.strokeStyle = rim
  pen.lineWidth = 2.5
  pen.fill()
  pen.stroke()
  pen.beginPath()
  pen.arc(14, 13, 4, 0, 2 * Math.PI)
  pen.fillStyle = rim
  pen.fill()
  return done(pen)
}

type Draw = (pen: CanvasRenderingContext2D, x: number, y: number) => void

function triangle(up: boolean): Draw {
  return (pen, x, y) => {
    const s = up ? -1 : 1
    pen.beginPath()
    pen.moveTo(x, y + 6 * s)
    pen.lineTo(x + 6.5, y - 5 * s)
    pen.lineTo(x - 6.5, y - 5 * s)
    pen.closePath()
    pen.fill()
  }
}

/** Marks by the kind of structure: told apart by shape. */
export const MARKS: Record<string, Draw> = {
  point: triangle(true),
  'inside turn': triangle(false),
  hump: (pen, x, y) => {
    pen.beginPath()
    pen.arc(x, y + 4, 7, Math.PI, 0)
    pen.closePath()
    pen.fill()
  },
  flat: (pen, x, y) => pen.fillRect(x - 7, y - 2.5, 14, 5),
  'sonar mark': (pen, x, y) => {
    pen.beginPath()
    pen.moveTo(x, y - 8)
    pen.lineTo(x + 8, y)
    pen.lineTo(x, y + 8)
    pen.lineTo(x - 8, y)
    pen.closePath()
    pen.fill()
  },
  'bottom hit': triangle(false),
}

/** A mark alone, on a rim: of a kind, or as `draw` draws it. */
export function mark(kind: string | Draw, ink: string, rim: string): Drawn {
  const pen = sheet(26, 22)
  pen.fillStyle = ink
  pen.strokeStyle = rim
  pen.lineWidth = 5
  const draw = typeof kind === 'string' ? MARKS[kind] : kind
  if (!draw) return done(pen)
  // the rim first: the same shape, stroked
  const fill = pen.fill.bind(pen)
  const rect = pen.fillRect.bind(pen)
  pen.fill = () => pen.stroke()
  pen.fillRect = (x: number, y: number, w: number, h: number) => pen.strokeRect(x, y, w, h)
  draw(pen, 12, 11)
  pen.fill = fill
  pen.fillRect = rect
  draw(pen, 12, 11)
  return done(pen)
}

/** A chevron that points along a line. */
export function arrow(ink: string, rim: string): Drawn {
  const pen = sheet(20, 20)
  for (const [colour, width] of [
    [rim, 7],
    [ink, 3.2],
  ] as const) {
    pen.beginPath()
    pen.moveTo(6, 4)
    pen.lineTo(14, 10)
    pen.lineTo(6, 16)
    pen.lineWidth = width
    pen.strokeStyle = colour
    pen.lineCap = 'round'
    pen.stroke()
  }
  return done(pen)
}

/** The boat from above, bow up; a ring where its course is not known. */
export function boat(c: Palette, known: boolean): Drawn {
  const pen = sheet(44, 44)
  pen.beginPath()
  if (known) {
    pen.moveTo(22, 3)
    pen.bezierCurveTo(31, 13, 32, 24, 30, 39)
    pen.lineTo(14, 39)
    pen.bezierCurveTo(12, 24, 13, 13, 22, 3)
    pen.closePath()
  } else pen.arc(22, 22, 11, 0, 2 * Math.PI)
  pen.fillStyle = c.boat
  pen.strokeStyle = c.boatHalo
  pen.lineWidth = 4
  pen.stroke()
  pen.fill()
  pen.beginPath()
  pen.arc(22, 23, 4, 0, 2 * Math.PI)
  pen.fillStyle = c.boatHalo
  pen.fill()
  return done(pen)
}
