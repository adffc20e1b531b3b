import { beforeEach, expect, it, vi } from 'vitest'

type Awake = typeof import('./awake.svelte').awake
let awake: Awake
let seen: () => void // the page comes into sight again

beforeEach(async () => {
  vi.resetModules()
  vi.stubGlobal('document', {
    visibilityState: 'visible',
    addEventListener: (_: string, does: () => void) => (seen = does),
  })
})

async function fresh(wakeLock: unknown): Promise<void> {
  vi.stubGlobal('navigator', { wakeLock })
  ;({ awake } = await import('./awake.svelte'))
}

function lock() {
  let gone: () => void = () => undefined
  const one = {
    addEventListener: (_: string, does: () => void) => (gone = does),
    release: vi.fn(() => Promise.resolve()),
  }
  return { one, drop: () => gone() }
}

it('says what to do where the phone refuses to keep the screen on', async () => {
  await fresh({ request: () => Promise.reject(new DOMException('low battery', 'NotAllowedError')) })
  awake.want(true)
  await vi.waitFor(() => expect(awake.why).toContain('set a long screen time'))
  awake.want(false)
  expect(awake.why).toBe('')
})

it('says so too where the browser has no such thing', async () => {
  await fresh(undefined)
  awake.want(true)
  await vi.waitFor(() => expect(awake.why).toContain('sounds no alarm'))
})

it('asks again when the page is seen again, and takes back what it said', async () => {
  const { one, drop } = lock()
  const request = vi.fn()
  request.mockRejectedValueOnce(new Error('refused')).mockResolvedValue(one)
  await fresh({ request })
  awake.want(true)
  await vi.waitFor(() => expect(awake.why).not.toBe(''))
  seen()
  await vi.waitFor(() => expect(awake.why).toBe(''))
  drop() // the browser lets go as it does out of sight
  await vi.waitFor(() => expect(request).toHaveBeenCalledTimes(3))
})

it('lets the screen go dark once no line is out', async () => {
  const { one } = lock()
  await fresh({ request: () => Promise.resolve(one) })
  awake.want(true)
  await vi.waitFor(() => expect(awake.why).toBe(''))
  await Promise.resolve()
  awake.want(false)
  await vi.waitFor(() => expect(one.release).toHaveBeenCalled())
})
