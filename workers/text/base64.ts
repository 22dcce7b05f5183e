/** Bytes as base64 (RFC 4648, section 4). */
export function base64(bytes: Uint8Array): string {
  let text = ''
  // In pieces: a call takes only so many arguments.
  for (let at = 0; at < bytes.length; at += 0x8000)
    text += String.fromCharCode(...bytes.subarray(at, at + 0x8000))
  return btoa(text)
}
