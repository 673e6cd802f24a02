/** Photos made small enough to send over a poor link, and without what a camera adds to them. */

const LONGEST_SIDE = 2048;
const QUALITY = 0.82;
const SMALL = 300_000;

/** Size of a picture whose longer side is at most that long. */
export function fitted(width: number, height: number, longest = LONGEST_SIDE): { width: number; height: number } {
  const scale = Math.min(1, longest / Math.max(width, height, 1));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) };
}

/** First bytes of JPEG and PNG; WebP is RIFF, a length, WEBP. Source: the three formats' own descriptions. */
const JPEG = [0xff, 0xd8, 0xff];
const PNG = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
const RIFF = [0x52, 0x49, 0x46, 0x46];
const WEBP = [0x57, 0x45, 0x42, 0x50];

/** Whether it is a picture of a kind that the server takes. */
export async function isPicture(photo: Blob): Promise<boolean> {
  const bytes = new Uint8Array(await photo.slice(0, 12).arrayBuffer());
  const has = (head: number[], from = 0): boolean => head.every((each, at) => bytes[from + at] === each);
  return has(JPEG) || has(PNG) || (has(RIFF) && has(WEBP, 8));
}

/** The photo as it is kept and sent; as it was where the browser cannot draw it or it would not shrink. */
export async function shrunk(photo: Blob): Promise<Blob> {
  if (photo.size <= SMALL) return photo;
  try {
    const picture = await createImageBitmap(photo, { imageOrientation: "from-image" });
    const { width, height } = fitted(picture.width, picture.height);
    const canvas = document.createElement("canvas");
    canvas.width = width;
    canvas.height = height;
    canvas.getContext("2d")?.drawImage(picture, 0, 0, width, height);
    picture.close();
    const small = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
    return small && small.size < photo.size ? small : photo;
  } catch {
    return photo;
  }
}
