// This phone's GPS, shared with the boat's computer while the crew wants it to be.
import { api, word } from './api'
import { keep, kept } from './keep'
import type { components } from './schema'

type Fix = components['schemas']['PhoneFix']

const TELL_MS = 1000 // fixes are sent together, once a second
const MOST = 120 // of them kept while there is no connection; older ones are of no use to anybody

class Place {
  /** Whether the sheet that asks for it is open: any "no GPS" opens it. */
  asking = $state(false)
  /** Whether this device tells its place. */
  telling = $state(false)
  /** What is to be said of it; "" where all is well. */
  why = $state('')
  /** Whether the boat goes by it; null before the first answer. */
  used = $state<boolean | null>(null)

  #watch: number | null = null
  #timer: ReturnType<typeof setInterval> | undefined
  #fixes: Fix[] = []
  #sending = false

  /** Goes on telling where the crew had chosen so. */
  resume(): void {
    if (kept('place') === 'told') this.start()
  }

  /** Begins to tell. */
  start(): void {
    if (this.#watch !== null) return
    // "geolocation" is there without a secure address, too, but answers nothing
    if (!isSecureContext || !('geolocation' in navigator)) {
      this.why =
        'A browser shares GPS only with a page opened at the boat’s https address, and this one was not'
      return
    }
    keep('place', 'told')
    this.telling = true
    this.why = ''
    this.used = null
    this.#watch = navigator.geolocation.watchPosition(
      (at) => this.#take(at),
      (error) => this.#failed(error),
      { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 },
    )
    this.#timer = setInterval(() => void this.#send(), TELL_MS)
  }

  /** Stops telling. */
  stop(): void {
    keep('place', '')
    if (this.#watch !== null) navigator.geolocation.clearWatch(this.#watch)
    clearInterval(this.#timer)
    this.#watch = null
    this.#fixes = []
    this.telling = false
    this.used = null
    this.why = ''
  }

  #take({ coords, timestamp }: GeolocationPosition): void {
    const fix: Fix = {
      time: new Date(timestamp).toISOString(),
      lat: coords.latitude,
      lon: coords.longitude,
      accuracy_m: coords.accuracy,
    }
    if (coords.speed !== null && coords.speed >= 0) fix.speed_m_s = coords.speed
    if (coords.heading !== null && coords.heading >= 0) fix.course_deg = coords.heading
    this.#fixes.push(fix)
    this.#fixes = this.#fixes.slice(-MOST)
  }

  async #send(): Promise<void> {
    if (this.#sending || !this.#fixes.length) return
    this.#sending = true
    const fixes = this.#fixes
    this.#fixes = []
    try {
      const said = await api.post('/api/position', { body: fixes })
      if (!this.telling) return
      this.used = said.used
      this.why = said.why ?? ''
    } catch (error) {
      this.#fixes = [...fixes, ...this.#fixes].slice(-MOST)
      if (this.telling) this.why = word(error)
    } finally {
      this.#sending = false
    }
  }

  #failed(error: GeolocationPositionError): void {
    if (error.code === error.PERMISSION_DENIED) {
      this.stop()
      this.why = 'The browser may not use this phone’s GPS: allow it in the browser’s settings'
    } else {
      this.why = 'This phone has no GPS position yet: give it a clear view of the sky'
    }
  }
}

export const place = new Place()
