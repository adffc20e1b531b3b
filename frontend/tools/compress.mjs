// Lays a compressed copy beside each built file that gains by it (.br and .gz): made once here, so
// that the boat's small computer needn't at each request. Takes the folder; the built pages if none.
import { readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { brotliCompressSync, constants, gzipSync } from 'node:zlib'

const SMALL = 900 // bytes: what goes in one packet anyway
const here = dirname(fileURLToPath(import.meta.url))
const root = process.argv[2] ?? join(here, '..', '..', 'src', 'towscope', 'web', 'pages')
let before = 0
let after = 0

for (const name of readdirSync(root, { recursive: true })) {
  const path = join(root, name)
  if (!/\.(js|css|html|svg|json|wasm|bin|webmanifest)$/.test(name) || statSync(path).size < SMALL) continue
  const plain = readFileSync(path)
  const brotli = brotliCompressSync(plain, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: 11,
      [constants.BROTLI_PARAM_MODE]: constants.BROTLI_MODE_TEXT,
      [constants.BROTLI_PARAM_SIZE_HINT]: plain.length,
    },
  })
  writeFileSync(`${path}.br`, brotli)
  writeFileSync(`${path}.gz`, gzipSync(plain, { level: 9 }))
  before += plain.length
  after += brotli.length
}
console.log(`pages: ${Math.round(before / 1024)} kB, ${Math.round(after / 1024)} kB as sent`)
