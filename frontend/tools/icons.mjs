// Draws public/icon-192.png and icon-512.png from public/icon.svg with the system's chromium.
// Run by hand when the sign changes; the drawings are kept with the sources.
import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const pub = join(dirname(fileURLToPath(import.meta.url)), '..', 'public')
const svg = readFileSync(join(pub, 'icon.svg'), 'utf8')
const work = mkdtempSync(join(tmpdir(), 'icon-'))
for (const size of [192, 512]) {
  const page = join(work, 'page.html')
  writeFileSync(
    page,
    `<style>body{margin:0}svg{display:block;width:${size}px;height:${size}px}</style>${svg}`,
  )
  execFileSync(
    process.env.CHROMIUM ?? 'chromium',
    [
      '--headless',
      '--no-sandbox',
      '--disable-gpu',
      '--disable-background-networking',
      '--hide-scrollbars',
      `--window-size=${size},${size}`,
      `--screenshot=${join(pub, `icon-${size}.png`)}`,
      `file://${page}`,
    ],
    { stdio: 'ignore' },
  )
}
rmSync(work, { recursive: true })
