// Questions to the back end, typed from its OpenAPI document; a refusal is thrown in its own words.
import { alone } from './alone'
import type { paths } from './schema'

type Method = 'get' | 'post' | 'put' | 'patch' | 'delete'
type PathsWith<M extends Method> = {
  [P in keyof paths]: paths[P] extends Record<M, { responses: unknown }> ? P : never
}[keyof paths]
type Op<P extends keyof paths, M extends Method> = paths[P] extends Record<M, infer O> ? O : never
type Json<T> = T extends { content: { 'application/json': infer J } } ? J : undefined
type Answer<O> = O extends { responses: infer R }
  ? R extends { 200: infer T }
    ? Json<T>
    : R extends { 201: infer T }
      ? Json<T>
      : R extends { 202: infer T }
        ? Json<T>
        : undefined
  : never
type Body<O> = O extends { requestBody?: { content: { 'application/json': infer B } } } ? B : undefined
type Part<O, K extends 'path' | 'query'> = O extends { parameters: infer P }
  ? P extends { [k in K]?: infer V }
    ? V
    : undefined
  : undefined

export interface More<O> {
  /** Parts of the path in braces. */
  path?: Part<O, 'path'>
  query?: Part<O, 'query'>
  body?: Body<O>
  signal?: AbortSignal
}

/** The back end refused; `message` is its plain word. Status 409: no such answer, 422: bad input. */
export class Refused extends Error {
  constructor(
    message: string,
    readonly status: number,
  ) {
    super(message)
  }
}

/** Called when the boat's computer no longer knows this device: it has to be let in again. */
export const pairing: { lost: () => void } = { lost: () => undefined }

/** The back end could not be reached. */
export class Unreached extends Error {
  constructor() {
    super(alone ? 'This needs a computer that runs towscope' : 'No connection to the boat’s computer')
  }
}

/** The address of a path with its parts and query put in. */
export function address(
  path: string,
  parts?: Readonly<Record<string, string | number>>,
  query?: object,
): string {
  let full = path.replace(/\{(\w+)\}/g, (_, name: string) => encodeURIComponent(parts?.[name] ?? ''))
  const asked = new URLSearchParams()
  for (const [key, value] of Object.entries(query ?? {})) {
    if (value === undefined || value === null) continue
    for (const each of Array.isArray(value) ? value : [value]) asked.append(key, String(each))
  }
  const tail = asked.toString()
  if (tail) full += `?${tail}`
  return full
}

/** One request with this app's headers; gives the response, or throws `Refused` or `Unreached`. */
export async function send(method: string, url: string, init: RequestInit = {}): Promise<Response> {
  if (alone) throw new Unreached()
  const headers = new Headers(init.headers)
  headers.set('Accept', 'application/json')
  if (method !== 'GET') headers.set('X-Towscope', '1')
  let response: Response
  try {
    response = await fetch(url, { ...init, method, headers, credentials: 'same-origin' })
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') throw error
    throw new Unreached()
  }
  if (!response.ok) {
    if (response.status === 401) pairing.lost()
    let told = ''
    try {
      const said: unknown = await response.json()
      if (said && typeof said === 'object' && 'error' in said) told = String(said.error)
    } catch {
      // not in the app's own words: the status has to do
    }
    throw new Refused(told || `The boat’s computer answered ${response.status}`, response.status)
  }
  return response
}

async function ask(method: Method, path: string, more: More<unknown> = {}): Promise<unknown> {
  const init: RequestInit = {}
  if (more.signal) init.signal = more.signal
  if (more.body !== undefined) {
    init.body = JSON.stringify(more.body)
    init.headers = { 'Content-Type': 'application/json' }
  }
  const response = await send(method.toUpperCase(), address(path, more.path, more.query), init)
  if (response.status === 204) return undefined
  return response.headers.get('Content-Type')?.includes('json') ? response.json() : undefined
}

type Call<M extends Method> = <P extends PathsWith<M>>(
  path: P,
  more?: More<Op<P, M>>,
) => Promise<Answer<Op<P, M>>>

/** `await api.get('/api/hello')`, `await api.post('/api/...', { body: {...} })` and so on. */
export const api = {
  get: ((path, more) => ask('get', path, more)) as Call<'get'>,
  post: ((path, more) => ask('post', path, more)) as Call<'post'>,
  put: ((path, more) => ask('put', path, more)) as Call<'put'>,
  patch: ((path, more) => ask('patch', path, more)) as Call<'patch'>,
  delete: ((path, more) => ask('delete', path, more)) as Call<'delete'>,
}

/** The word to show for an error of any kind. */
export function word(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
