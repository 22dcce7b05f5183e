/** What an address asks for; both hosts lay out their origin by this. */
export type Route = 'desk' | 'bulk' | 'window'

/** The route of a pathname: the desk's calls, its columns, or else one of the window's own files. */
export function routeOf(pathname: string): Route {
  if (pathname.startsWith('/desk/')) return 'desk'
  if (pathname.startsWith('/bulk/')) return 'bulk'
  return 'window'
}

/** True for a log file's bytes on their way in: streamed, however many. Every other body is a small JSON call. */
export function isUpload(method: string, pathname: string, contentType: string | undefined): boolean {
  if (method !== 'POST' && method !== 'PUT') return false
  if (pathname !== '/desk/files' && !pathname.startsWith('/desk/files/')) return false
  return !/^application\/json\b/i.test(contentType ?? '')
}

/** The largest JSON call in bytes. The biggest honest one names every column of a log: tens of kilobytes. */
export const JSON_LIMIT_BYTES = 1024 * 1024

/** The same for a call: a result that the window asks to keep carries its curves. */
export const limitOf_bytes = (pathname: string): number =>
  pathname === '/desk/call/results.keep' ? 16 * JSON_LIMIT_BYTES : JSON_LIMIT_BYTES

/** Files given on the command line, for the window: it reads them with `new URLSearchParams(hash).getAll('open')`. */
export function openHash(files: readonly string[]): string {
  if (files.length === 0) return ''
  return `#${new URLSearchParams(files.map((file) => ['open', file])).toString()}`
}

/** What the window is told when something broke that should not have; the details go to the terminal. */
export const UNEXPECTED_LINE =
  'Something unexpected went wrong; the terminal that started the program has the details.'
