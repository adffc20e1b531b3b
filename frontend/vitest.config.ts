import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vitest/config'

// The pages' own logic, without a browser; what is seen is tried in one (tests/web).
export default defineConfig({
  plugins: [svelte()],
  resolve: { conditions: ['browser'] }, // state as in the pages, not as on a server
  test: { isolate: false, include: ['src/**/*.test.ts'], unstubGlobals: true, restoreMocks: true },
})
