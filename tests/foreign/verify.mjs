// Verifies a compact JWS with the keys of a JWKS: node verify.mjs <token> <jwks>; prints both parts.
import { compactVerify, createLocalJWKSet } from "jose";

const [token, jwks] = process.argv.slice(2);
const { payload, protectedHeader } = await compactVerify(token, createLocalJWKSet(JSON.parse(jwks)));
console.log(JSON.stringify({ header: protectedHeader, payload: JSON.parse(new TextDecoder().decode(payload)) }));
