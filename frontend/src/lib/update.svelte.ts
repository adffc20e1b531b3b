// Keeps the pages on this device, so that they open with no boat's computer in reach; a new version
// waits until the crew takes it. Entries not yet sent are kept elsewhere and are never touched.
import { registerSW } from 'virtual:pwa-register'

const PATIENCE_MS = 5000

class Update {
  /** Whether a newer version is ready to be taken. */
  ready = $state(false)
  /** Whether the pages are kept on this device. */
  kept = $state(false)
  /** Whether it is being taken. */
  taking = $state(false)

  start(): void {
    if (!('serviceWorker' in navigator)) return
    registerSW({
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
  async take(): Promise<void> {
    if (this.taking) return
    this.taking = true
    const anew = (): void => location.reload()
    const waiting = (await navigator.serviceWorker.getRegistration())?.waiting
    if (!waiting) return anew() // another tab has taken it already
    navigator.serviceWorker.addEventListener('controllerchange', anew, { once: true })
    waiting.postMessage({ type: 'SKIP_WAITING' })
    // What the old one still works at holds the new one back: opening the page anew ends that.
    setTimeout(anew, PATIENCE_MS)
  }
}

export const update = new Update()
