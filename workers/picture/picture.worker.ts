import { expose, transfer } from 'comlink'
import { drawCard, layOutCard } from '../fieldcard/card-picture.ts'
import { cardAsText } from '../fieldcard/card-text.ts'
import type { FieldCard } from '../fieldcard/field-card.ts'
import { composeComparison, pictureSize } from './compose.ts'
import { describeComparison } from './describe.ts'
import type { ComparisonPicture, PictureTheme } from './model.ts'
import type { ShareDocument } from '../share/document.ts'
import { altOf, htmlPage } from '../share/page.ts'
import { addPngText } from './png-text.ts'
import { SvgContext } from './svg-context.ts'
import { plainLine } from './text.ts'
import { PICTURE_FONT } from './theme.ts'

/** Where the window's host serves the two files of the picture's typeface. */
export interface PictureFonts {
  readonly regularUrl: string
  readonly boldUrl: string
}

export interface PictureApi {
  /** PNG bytes of the picture, title and description inside. Rejects when a font can't be loaded. */
  drawPng(model: ComparisonPicture, fonts: PictureFonts): Promise<Uint8Array<ArrayBuffer>>
  /** The same as the text of an SVG file. */
  drawSvg(model: ComparisonPicture, fonts: PictureFonts): Promise<string>
  /** PNG bytes of a field card for a phone, its words inside as text too. */
  drawFieldCard(card: FieldCard, theme: PictureTheme, fonts: PictureFonts): Promise<Uint8Array<ArrayBuffer>>
  /** An HTML page of the document with the picture in it, light and dark. */
  drawPage(model: ComparisonPicture, document: ShareDocument, fonts: PictureFonts): Promise<string>
}

let loading: Promise<void> | null = null

/** Once per worker; a failed load may be tried again by the next picture. */
function loadFonts(fonts: PictureFonts): Promise<void> {
  loading ??= Promise.all([loadFace(fonts.regularUrl, 'normal'), loadFace(fonts.boldUrl, 'bold')]).then(
    () => undefined,
    (reason: unknown) => {
      loading = null
      throw reason
    },
  )
  return loading
}

async function loadFace(url: string, weight: string): Promise<void> {
  const face = new FontFace(PICTURE_FONT, `url(${JSON.stringify(url)})`, { weight })
  await face.load()
  ;(self as unknown as { fonts: FontFaceSet }).fonts.add(face)
}

function freshContext(width: number, height: number): [OffscreenCanvas, OffscreenCanvasRenderingContext2D] {
  const canvas = new OffscreenCanvas(width, height)
  const context = canvas.getContext('2d', { alpha: false })
  if (context === null) throw new Error('this browser has no canvas outside the page')
  return [canvas, context]
}

async function pngOf(model: ComparisonPicture): Promise<Uint8Array<ArrayBuffer>> {
  const size = pictureSize(model)
  const [canvas, context] = freshContext(size.canvasWidth, size.canvasHeight)
  composeComparison(context, model)
  const blob = await canvas.convertToBlob({ type: 'image/png' })
  return addPngText(new Uint8Array(await blob.arrayBuffer()), {
    Title: plainLine(model.title),
    Description: describeComparison(model),
    Software: model.footer.program,
  })
}

const api: PictureApi = {
  async drawPng(model, fonts) {
    await loadFonts(fonts)
    const png = await pngOf(model)
    return transfer(png, [png.buffer])
  },

  async drawPage(model, document, fonts) {
    await loadFonts(fonts)
    const { width_px, height_px } = pictureSize(model)
    return htmlPage(document, {
      light: await pngOf({ ...model, theme: 'light' }),
      dark: await pngOf({ ...model, theme: 'dark' }),
      ...{ width_px, height_px },
      alt: altOf(model.title),
    })
  },

  async drawSvg(model, fonts) {
    await loadFonts(fonts)
    const context = new SvgContext(freshContext(1, 1)[1])
    composeComparison(context, model)
    return context.toSvg(pictureSize(model), model.title, describeComparison(model))
  },

  async drawFieldCard(card, theme, fonts) {
    await loadFonts(fonts)
    const layout = layOutCard(freshContext(1, 1)[1], card)
    const [canvas, context] = freshContext(layout.width_px, layout.height_px)
    drawCard(context, layout, theme)
    const blob = await canvas.convertToBlob({ type: 'image/png' })
    const png = addPngText(new Uint8Array(await blob.arrayBuffer()), {
      Title: `Fly again: ${card.craft}`,
      Description: cardAsText(card),
      Software: 'Twopack',
    })
    return transfer(png, [png.buffer])
  },
}

expose(api)
