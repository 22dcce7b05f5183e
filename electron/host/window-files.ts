import { readFile } from 'node:fs/promises'
import { resolve, sep } from 'node:path'
import { contentType } from './content-types.ts'
import { SECURITY_HEADERS, windowCacheControl } from './headers.ts'

export interface WindowFile {
  readonly bytes: Buffer
  readonly headers: Readonly<Record<string, string>>
}

/**
 * Reads one of the window's built files. `pathname` is as it stands in an address, percent-encoded; `/` is the
 * page itself. Null when there is no such file, and for every path that leads out of `root`.
 */
export async function readWindowFile(root: string, pathname: string): Promise<WindowFile | null> {
  const path = pathInside(root, pathname === '/' ? '/index.html' : pathname)
  if (path === null) return null
  let bytes: Buffer
  try {
    bytes = await readFile(path)
  } catch (error) {
    if (isAbsent(error)) return null
    throw error
  }
  return {
    bytes,
    headers: {
      ...SECURITY_HEADERS,
      'content-type': contentType(path),
      'cache-control': windowCacheControl(pathname),
    },
  }
}

/** The file under `root` that a percent-encoded path names, or null when it is malformed or leads outside. */
export function pathInside(root: string, pathname: string): string | null {
  let decoded: string
  try {
    decoded = decodeURIComponent(pathname)
  } catch {
    return null // not valid percent-encoding, so it names nothing
  }
  if (decoded.includes('\0')) return null
  const folder = resolve(root)
  const path = resolve(folder, `.${sep}${decoded}`)
  // With the separator: a sibling folder whose name only starts like the root's is outside too.
  return path.startsWith(folder + sep) ? path : null
}

function isAbsent(error: unknown): boolean {
  const code = error instanceof Error && 'code' in error ? error.code : null
  return code === 'ENOENT' || code === 'EISDIR' || code === 'ENOTDIR' || code === 'ENAMETOOLONG'
}
