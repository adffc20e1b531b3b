// A rod's own colour and shape on the map, as everywhere else.
import { look } from '../../lib/look.svelte'
import { rodLook } from '../../lib/words'
import { trace, type Shape } from '../../lib/rods'

/** The rod's colour by the look as it is now. */
export function inkOf(rod: string): string {
  return rodLook(rod)[look.now === 'night' ? 'night' : 'day']
}

/** Draws the rod's shape. */
export function drawRod(rod: string): (pen: CanvasRenderingContext2D, x: number, y: number) => void {
  return (pen, x, y) => {
    trace(pen, rodLook(rod).shape as Shape, x, y, 6)
    pen.fill()
  }
}
