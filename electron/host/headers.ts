/**
 * What the window may do. Everything comes from its own origin; no inline script, no eval, no frames.
 * 'wasm-unsafe-eval' permits compiling WebAssembly only. `blob:` pictures are what the window draws itself.
 */
export const CONTENT_SECURITY_POLICY = [
  "default-src 'none'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "worker-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob:",
  "font-src 'self'",
  "connect-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ')

/** Sent with every response of both hosts, errors included. */
export const SECURITY_HEADERS: Readonly<Record<string, string>> = {
  'content-security-policy': CONTENT_SECURITY_POLICY,
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-embedder-policy': 'require-corp',
  'cross-origin-resource-policy': 'same-origin',
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'no-referrer',
}

/** How long a window file may be kept: for ever where its name carries a hash of its content, else ask again. */
export function windowCacheControl(pathname: string): string {
  return pathname.startsWith('/assets/') ? 'private, max-age=31536000, immutable' : 'no-cache'
}

/** Flights are the pilot's own: nothing of the desk's is kept outside the data folder. */
export const DESK_CACHE_CONTROL = 'no-store'
