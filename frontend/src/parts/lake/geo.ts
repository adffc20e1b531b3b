// Level metres about a place on the globe: right to a centimetre over a lake.

const A = 6_378_137 // [m]; WGS 84, as its definition has it
const F = 1 / 298.257223563
const E2 = F * (2 - F)
const RAD = Math.PI / 180

export interface Metres {
  x: number
  y: number
}

/** Gives what turns latitude, longitude [degrees] into metres east and north of a place. */
export function levelAbout(lat0: number, lon0: number): (lat: number, lon: number) => Metres {
  const s = Math.sin(lat0 * RAD)
  const w = Math.sqrt(1 - E2 * s * s)
  const across = A / w // radius of curvature in the prime vertical
  const along = (A * (1 - E2)) / (w * w * w) // and in the meridian
  const c = Math.cos(lat0 * RAD)
  return (lat, lon) => {
    const east = lon - lon0
    return { x: (east - 360 * Math.round(east / 360)) * RAD * across * c, y: (lat - lat0) * RAD * along }
  }
}

/** Direction from one point to another, from north clockwise [degrees]. */
export function bearing(from: Metres, to: Metres): number {
  return (Math.atan2(to.x - from.x, to.y - from.y) / RAD + 360) % 360
}

/** The angle from one direction to another, positive to starboard, -180 to 180 [degrees]. */
export function turn(from: number, to: number): number {
  return ((to - from + 540) % 360) - 180
}

/** One pair of words for the helm everywhere: left and right. */
export function hand(side: string): string {
  return side === 'port' ? 'left' : side === 'starboard' ? 'right' : side
}

const POINTS = ['north', 'northeast', 'east', 'southeast', 'south', 'southwest', 'west', 'northwest']

/** A direction in words: "northeast". */
export function compass(deg: number): string {
  return POINTS[Math.round((((deg % 360) + 360) % 360) / 45) % 8]!
}
