// The pass that is being followed: it lives on this device through every change of room and every
// reload, until the crew stops it or the day is over.
import type { components } from '../../lib/schema'
import { shelf } from '../../lib/shelf'
import { live } from '../../lib/stream'
import { Follower, steer, type Standing } from './follow'

type PlanWhole = components['schemas']['PlanWhole']

interface Saved {
  plan: PlanWhole
  number: number
  beganMs: number
}

const KEY = 'followed'
const LONGEST_MS = 18 * 3_600_000 // a pass from another day is not taken up again
const OLD_FIX_S = 10

class Followed {
  plan = $state.raw<PlanWhole | null>(null)
  number = $state(0)
  /** Whether what this device has of it was looked for. */
  ready = $state(false)

  readonly pass = $derived(this.plan?.passes.find((each) => each.number === this.number) ?? null)
  readonly #follower = $derived(this.pass ? new Follower(this.pass) : null)

  /** Where the boat stands on the pass; null where nothing says where she is. */
  readonly now = $derived.by<Standing | null>(() => {
    const at = live.run?.boat
    if (!this.#follower || typeof at?.lat !== 'number' || typeof at.lon !== 'number') return null
    return this.#follower.stand(at.lat, at.lon, at.course_deg ?? null)
  })
  /** Whether the fix is young enough to steer by. */
  readonly fresh = $derived((live.ageS ?? 99) < OLD_FIX_S)
  /** Whether she goes the pass the wrong way. */
  readonly against = $derived(
    this.now?.state === 'on' && this.now.courseOffDeg !== null && Math.abs(this.now.courseOffDeg) > 120,
  )
  readonly side = $derived(this.now ? steer(this.now.offM) : 'on')

  constructor() {
    void this.#recall()
  }

  async #recall(): Promise<void> {
    const saved = (await (await shelf()).kept(KEY).catch(() => null)) as Saved | null | undefined
    if (saved && !this.plan && Date.now() - saved.beganMs < LONGEST_MS) {
      this.plan = saved.plan
      this.number = saved.number
    }
    this.ready = true
  }

  begin(plan: PlanWhole, number: number): void {
    this.plan = plan
    this.number = number
    void this.#save({ plan, number, beganMs: Date.now() })
  }

  end(): void {
    this.plan = null
    this.number = 0
    void this.#save(null)
  }

  async #save(saved: Saved | null): Promise<void> {
    try {
      await (await shelf()).keep(KEY, saved)
    } catch {
      // full: it is followed until the page is closed
    }
  }
}

export const followed = new Followed()
