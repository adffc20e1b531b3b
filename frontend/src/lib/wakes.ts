// Where boat and lures have been in the last minutes, kept from the pictures of the run.

const KEEP_S = 600
const LEAST_M = 1 // nearer than this to the last place is the same place, about

export interface Spot {
  timeS: number
  lat: number
  lon: number
}
interface Placed {
  lat?: number | null
  lon?: number | null
}
interface Picture {
  state: string
  boat: Placed & { at?: string }
  lines?: (Placed & { rod: string })[]
}

class Wakes {
  boat: Spot[] = []
  /** Rod to the places of its lure, the oldest first. */
  lures = new Map<string, Spot[]>()

  /** Takes in a picture of the run. */
  add(run: Picture): void {
    const timeS = run.boat.at ? Date.parse(run.boat.at) / 1000 : Date.now() / 1000
    if (run.state === 'no fix' || run.state === 'stale') return
    push(this.boat, timeS, run.boat)
    for (const line of run.lines ?? []) {
      let track = this.lures.get(line.rod)
      if (!track) this.lures.set(line.rod, (track = []))
      push(track, timeS, line)
    }
    for (const [rod, track] of this.lures) {
      drop(track, timeS)
      if (!track.length) this.lures.delete(rod)
    }
  }
}

function push(track: Spot[], timeS: number, at: Placed): void {
  if (at.lat === null || at.lat === undefined || at.lon === null || at.lon === undefined) return
  const last = track.at(-1)
  // a clock that went back, or a day played anew: what was before is another day's
  if (last && (timeS < last.timeS - 5 || timeS > last.timeS + 120)) track.length = 0
  if (last && Math.abs(at.lat - last.lat) + Math.abs(at.lon - last.lon) < LEAST_M / 111_000) return
  track.push({ timeS, lat: at.lat, lon: at.lon })
  drop(track, timeS)
}

function drop(track: Spot[], nowS: number): void {
  let old = 0
  while (old < track.length && track[old]!.timeS < nowS - KEEP_S) old += 1
  if (old) track.splice(0, old)
}

export const wakes = new Wakes()
