import boldUrl from 'dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf?url'
import regularUrl from 'dejavu-fonts-ttf/ttf/DejaVuSans.ttf?url'
import type { PictureFonts } from '../../workers/picture/picture.worker.ts'

/** Where this window's host serves the typeface of pictures, as addresses that a worker can use. */
export function pictureFonts(): PictureFonts {
  const address = (url: string) => new URL(url, location.href).href
  return { regularUrl: address(regularUrl), boldUrl: address(boldUrl) }
}
