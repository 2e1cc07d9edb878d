// Photos small enough to be kept and sent from a shed.

const LONGEST_SIDE = 2000; // pixels
const QUALITY = 0.85;

/** The photo, at most 2,000 pixels wide and high. What the browser cannot read stays as it is. */
export async function shrunk(file) {
  try {
    const picture = await createImageBitmap(file);
    const scale = LONGEST_SIDE / Math.max(picture.width, picture.height);
    if (scale >= 1) return file;
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    const smaller = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
    return smaller ? new File([smaller], "photo.jpg", { type: "image/jpeg" }) : file;
  } catch {
    return file;
  }
}

/** The photo of a form, or null where none was chosen. */
export async function photoOf(form) {
  const [file] = form.elements.photo.files;
  return file ? shrunk(file) : null;
}
