import { beforeEach, describe, expect, it, vi } from 'vitest'
import { api, pairing, Refused, send, Unreached, word } from './api'

let asked: { url: string; init: RequestInit & { headers: Headers } } | undefined

function answers(status: number, body: string, type = 'application/json'): void {
  vi.stubGlobal('fetch', (url: string, init: RequestInit & { headers: Headers }) => {
    asked = { url, init }
    return Promise.resolve(
      new Response(status === 204 ? null : body, { status, headers: { 'Content-Type': type } }),
    )
  })
}

beforeEach(() => {
  asked = undefined
})

describe('a question', () => {
  it('has its parts and query put in, and nothing that was left out', async () => {
    answers(200, '{"depth_m": 4}')
    const path = { name: 'Big Bay / North' }
    const query = { lat: 46.5, lon: -93, at: undefined } as { lat: number; lon: number }
    expect(await api.get('/api/lakes/{name}/depth', { path, query })).toEqual({ depth_m: 4 })
    expect(asked!.url).toBe('/api/lakes/Big%20Bay%20%2F%20North/depth?lat=46.5&lon=-93')
    expect(asked!.init.headers.get('X-Towscope')).toBeNull()
    expect(asked!.init.credentials).toBe('same-origin')
  })

  it('that changes something says that it is the app’s own', async () => {
    answers(200, '{"units": "us"}')
    await api.put('/api/units', { body: { units: 'us', first: true } })
    expect(asked!.init.method).toBe('PUT')
    expect(asked!.init.headers.get('X-Towscope')).toBe('1')
    expect(asked!.init.headers.get('Content-Type')).toBe('application/json')
    expect(asked!.init.body).toBe('{"units":"us","first":true}')
  })

  it('may have no answer', async () => {
    answers(204, '')
    expect(await api.delete('/api/jobs/{name}', { path: { name: 'x' } })).toBeUndefined()
  })
})

describe('where there is no answer', () => {
  it('a refusal is in the boat’s own words', async () => {
    answers(422, '{"error": "depth: write for example 30 ft"}')
    const error = await api.get('/api/hello').catch((e: unknown) => e)
    expect(error).toBeInstanceOf(Refused)
    expect((error as Refused).status).toBe(422)
    expect(word(error)).toBe('depth: write for example 30 ft')
  })

  it('and where those are no words, its status has to do', async () => {
    answers(502, '<html>Bad gateway</html>', 'text/html')
    await expect(api.get('/api/hello')).rejects.toThrow('answered 502')
  })

  it('a device that is not known any more is let in again', async () => {
    const lost = vi.spyOn(pairing, 'lost')
    answers(401, '{"error": "not paired"}')
    await expect(api.get('/api/hello')).rejects.toThrow('not paired')
    expect(lost).toHaveBeenCalledOnce()
  })

  it('no connection is told apart from what was called off', async () => {
    vi.stubGlobal('fetch', () => Promise.reject(new TypeError('Failed to fetch')))
    await expect(send('GET', '/api/hello')).rejects.toBeInstanceOf(Unreached)
    vi.stubGlobal('fetch', (_: string, init: RequestInit) => Promise.reject(init.signal!.reason as Error))
    const error = await api.get('/api/hello', { signal: AbortSignal.abort() }).catch((e: unknown) => e)
    expect((error as DOMException).name).toBe('AbortError')
  })
})
