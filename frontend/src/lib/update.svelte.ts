// Keeps the pages on this device, so that they open with no boat's computer in reach; a new version
// waits until the crew takes it. Entries not yet sent are kept elsewhere and are never touched.
import { registerSW } from 'virtual:pwa-register'

class Update {
  /** Whether a newer version is ready to be taken. */
  ready = $state(false)
  /** Whether the pages are kept on this device. */
  kept = $state(false)
  #take: ((reload?: boolean) => Promise<void>) | null = null

  start(): void {
    if (!('serviceWorker' in navigator)) return
    this.#take = registerSW({
      immediate: true,
      onNeedRefresh: () => (this.ready = true),
      onOfflineReady: () => (this.kept = true),
      onRegisteredSW: (_, registration) => {
        if (registration?.active) this.kept = true
      },
      onRegisterError: () => (this.kept = false),
    })
  }

  /** Takes the new version: the page opens anew. */
  take(): void {
    void this.#take?.(true)
  }
}

export const update = new Update()
