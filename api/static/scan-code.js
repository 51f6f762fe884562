// Short codes as labels bear them. The check character is tried here as well, so that a misread
// code is refused at once and without network. ISO 7064 MOD 37,36, as in protocols/codes.py.

const ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const LENGTH = 8;
const MISREAD = { I: "1", L: "1", O: "0" };

function checkCharacter(text) {
  let product = 36;
  for (const one of text) {
    product = (((product + ALPHABET.indexOf(one)) % 36 || 36) * 2) % 37;
  }
  return ALPHABET[(37 - product) % 36];
}

// {code} for a sound code as it is printed, {wrong: "length" | "check"} for any other text.
export function readCode(text) {
  const bare = [...text.toUpperCase().replace(/[\s-]/g, "")].map((one) => MISREAD[one] ?? one);
  if (bare.length !== LENGTH || bare.some((one) => !ALPHABET.includes(one))) {
    return { wrong: "length" };
  }
  const code = bare.join("");
  if (checkCharacter(code.slice(0, -1)) !== code.at(-1)) return { wrong: "check" };
  return { code: `${code.slice(0, 4)}-${code.slice(4)}` };
}

// The address of a public certificate of this very service, which is scanned on bags; else null.
export function certificateOf(text) {
  const prefix = `${location.origin}/c/`;
  return text.toLowerCase().startsWith(prefix) ? text.toLowerCase() : null;
}
