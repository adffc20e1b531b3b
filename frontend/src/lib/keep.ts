// What this browser keeps of the crew's choices; a browser that keeps nothing still works.

export function kept(key: string): string | null {
  try {
    return localStorage.getItem(`towscope.${key}`)
  } catch {
    return null
  }
}

export function keep(key: string, value: string): void {
  try {
    localStorage.setItem(`towscope.${key}`, value)
  } catch {
    // private window or full: the choice holds until the page is closed
  }
}
