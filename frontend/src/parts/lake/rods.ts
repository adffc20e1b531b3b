// A rod's own colour and shape on the map, as everywhere else.
import { colourOf, shapeOf, trace } from '../../lib/rods'

export { colourOf as inkOf }

/** Draws the rod's shape. */
export function drawRod(rod: string): (pen: CanvasRenderingContext2D, x: number, y: number) => void {
  return (pen, x, y) => {
    trace(pen, shapeOf(rod), x, y, 6)
    pen.fill()
  }
}
