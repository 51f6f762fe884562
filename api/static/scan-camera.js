// Looks through the camera for a code; loaded only when somebody asks for it. Where the browser
// has no reader of its own, ours is loaded beside it. Without a camera a photo will do.

import { readerOf } from "./scan-reader.js";

const EVERY = 150; // ms between two looks

// Show the dialog and look until a code led somewhere, or it is closed.
export async function look(dialog, scanned, say) {
  const video = dialog.querySelector("video");
  const photo = dialog.querySelector("input[type=file]");
  const read = await readerOf();
  dialog.showModal();
  photo.onchange = async () => {
    const [text] = await read(await createImageBitmap(photo.files[0]));
    photo.value = "";
    if (text === undefined) return say("no_code");
    if (await scanned(text)) dialog.close();
  };
  const stream = await camera();
  video.hidden = !stream;
  if (!stream) return say("no_camera");
  dialog.addEventListener("close", () => stream.getTracks().forEach((one) => one.stop()), {
    once: true,
  });
  video.srcObject = stream;
  await video.play();
  await search(dialog, video, read, scanned);
}

async function camera() {
  try {
    const wanted = { facingMode: "environment", width: { ideal: 1280 } };
    return await navigator.mediaDevices.getUserMedia({ video: wanted, audio: false });
  } catch {
    return null; // none, not allowed, or no secure connection
  }
}

async function search(dialog, video, read, scanned) {
  while (dialog.open) {
    const [text] = video.videoWidth ? await read(video) : [];
    if (text !== undefined && dialog.open && (await scanned(text))) dialog.close();
    await new Promise((next) => setTimeout(next, EVERY));
  }
}
