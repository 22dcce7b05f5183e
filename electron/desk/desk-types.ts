/** Bulk bytes to be written straight to a socket (see DEVELOPERS.md, "The way data goes"). */
export interface Bulk {
  readonly status: 200 | 404
  readonly parts: readonly Uint8Array[]
  readonly byteLength: number
}

/**
 * The desk: everything behind the window. Both hosts serve the same object.
 * `handle` takes the small calls under /desk/, `bulk` the GETs of columns under /bulk/.
 * Hosts check token, Host and Origin, add the security headers and serve the window's own files.
 */
export interface Desk {
  handle(request: Request): Promise<Response>
  /** Resolves to null when the path is not one of bulk's. `path` is pathname plus search. */
  bulk(path: string, signal?: AbortSignal): Promise<Bulk | null>
  close(): Promise<void>
}
