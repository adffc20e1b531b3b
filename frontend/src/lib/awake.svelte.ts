// Keeps the screen on while lines are out: a phone that sleeps sounds no alarm.

class Awake {
  /** What is to be said where the screen may go dark; "" where it is kept on, or need not be. */
  why = $state('')
  #wanted = false
  #lock: WakeLockSentinel | null = null
  #asking = false

  constructor() {
    // the browser lets go whenever the page is out of sight
    document.addEventListener('visibilitychange', () => void this.#ask())
  }

  /** Whether lines are out; safe to call again and again. */
  want(wanted: boolean): void {
    if (wanted === this.#wanted) return
    this.#wanted = wanted
    if (wanted) void this.#ask()
    else {
      this.why = ''
      void this.#lock?.release()
    }
  }

  async #ask(): Promise<void> {
    if (!this.#wanted || this.#lock || this.#asking || document.visibilityState !== 'visible') return
    this.#asking = true
    try {
      if (!navigator.wakeLock) throw new Error('not here')
      const lock = await navigator.wakeLock.request('screen')
      this.#lock = lock
      lock.addEventListener('release', () => {
        this.#lock = null
        void this.#ask()
      })
      this.why = ''
      if (!this.#wanted) void lock.release()
    } catch {
      this.#lock = null
      this.why =
        'This phone does not let the page keep the screen on, and asleep it sounds no alarm: ' +
        'set a long screen time in its settings while lines are out.'
    } finally {
      this.#asking = false
    }
  }
}

export const awake = new Awake()
