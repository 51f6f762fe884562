// Reads QR codes in a picture: by the browser where it can, else by the reader in vendor/, which
// takes a megabyte and is therefore loaded only then.

// Gives a function from a picture (video, bitmap) to the texts of the codes in it.
export async function readerOf() {
  return (await ofTheBrowser()) ?? (await ofOurs());
}

async function ofTheBrowser() {
  try {
    const formats = (await globalThis.BarcodeDetector?.getSupportedFormats()) ?? [];
    if (!formats.includes("qr_code")) return null;
    const detector = new BarcodeDetector({ formats: ["qr_code"] });
    return async (picture) => (await detector.detect(picture)).map((one) => one.rawValue);
  } catch {
    return null;
  }
}

export async function ofOurs() {
  const { prepareZXingModule, readBarcodes } = await import("./vendor/zxing/reader/index.js");
  const wasm = new URL("./vendor/zxing/zxing_reader.wasm", import.meta.url).href;
  await prepareZXingModule({ overrides: { locateFile: () => wasm }, fireImmediately: true });
  const canvas = document.createElement("canvas");
  const ink = canvas.getContext("2d", { willReadFrequently: true });
  return async (picture) => {
    canvas.width = picture.videoWidth ?? picture.width;
    canvas.height = picture.videoHeight ?? picture.height;
    ink.drawImage(picture, 0, 0);
    const pixels = ink.getImageData(0, 0, canvas.width, canvas.height);
    const found = await readBarcodes(pixels, { formats: ["QRCode"], maxNumberOfSymbols: 1 });
    return found.filter((one) => one.isValid).map((one) => one.text);
  };
}
