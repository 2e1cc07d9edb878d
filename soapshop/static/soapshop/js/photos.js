// Show the photo that was chosen, before it is sent.

const WIDTH = 240;

async function preview(input) {
  input.parentElement.parentElement.querySelector(".photo-preview")?.remove();
  const [file] = input.files;
  if (!file) return;
  // What the browser cannot read is sent as it is; the server says what it can do with it.
  const picture = await createImageBitmap(file, { resizeWidth: 2 * WIDTH }).catch(() => null);
  if (!picture || input.files[0] !== file) return;
  const canvas = document.createElement("canvas");
  canvas.className = "photo-preview";
  canvas.width = picture.width;
  canvas.height = picture.height;
  canvas.role = "img";
  canvas.ariaLabel = "The photo you chose";
  canvas.getContext("2d").drawImage(picture, 0, 0);
  input.parentElement.after(canvas);
}

document.addEventListener("change", ({ target }) => {
  if (target.matches("input[type='file'][accept*='image']")) preview(target);
});
