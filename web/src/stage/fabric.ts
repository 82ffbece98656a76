/** The look of fabric: its picture, or a plain weave that is seen from near; fuzz along the outline; a lining inside. */

import {
  ClampToEdgeWrapping,
  Color,
  MirroredRepeatWrapping,
  RepeatWrapping,
  SRGBColorSpace,
  Texture,
  type MeshStandardMaterial,
  type Wrapping,
} from "three";
import type { LaidPicture, Wrap } from "../data/dressed.ts";

const VERTEX = `
attribute vec3 rest;
attribute vec3 restNormal;
varying vec3 vRest;
varying vec3 vRestNormal;
void main() {
  vRest = rest;
  vRestNormal = restNormal;`;

const FRAGMENT = `
uniform float worn;
uniform float lined;
uniform float woven;
uniform vec3 tint;
varying vec3 vRest;
varying vec3 vRestNormal;
const float PITCH = 0.004; // metres from thread to thread: coarse, so that it is seen at all
const vec3 LINING = vec3(0.14, 0.135, 0.125); // what the inside is paler by: dark cloth would be a black hole in its own shade
const float MEAN = 0.6366; // of a thread's height, which is what is left of it from afar
float threads(vec2 at) {
  vec2 across = abs(sin(3.14159265 * at));
  float height = mix(across.x, across.y, mod(floor(at.x) + floor(at.y), 2.0));
  vec2 pixel = fwidth(at);
  return mix(height, MEAN, smoothstep(0.12, 0.45, max(pixel.x, pixel.y)));
}
void main() {`;

const PICTURE = `
#ifdef USE_MAP
{
  vec4 shown = texture2D(map, vMapUv);
  diffuseColor *= mix(vec4(1.0), vec4(tint * shown.rgb, shown.a), worn);
}
#endif`;

const COLOUR = `#include <color_fragment>
{
  vec3 facing = pow(abs(vRestNormal), vec3(4.0));
  facing /= facing.x + facing.y + facing.z + 1e-6;
  float height = facing.x * threads(vRest.zy / PITCH) + facing.y * threads(vRest.xz / PITCH) + facing.z * threads(vRest.xy / PITCH);
  diffuseColor.rgb *= 1.0 + worn * woven * 0.4 * (height - MEAN);
  if (!gl_FrontFacing) diffuseColor.rgb = mix(diffuseColor.rgb, 0.45 * diffuseColor.rgb + LINING, lined);
}`;

const LIGHT = `{
  float edge = 1.0 - abs(dot(normalize(vViewPosition), normal));
  outgoingLight += worn * 0.4 * diffuseColor.rgb * edge * edge * edge;
}
#include <opaque_fragment>`;

const WRAPPINGS: Record<Wrap, Wrapping> = {
  repeated: RepeatWrapping,
  mirrored: MirroredRepeatWrapping,
  clamped: ClampToEdgeWrapping,
};
const MOST_SAMPLES = 4; // along a picture that is seen at a slant

/** What a piece of cloth is seen as, 1 or 0: `worn` its own weave and picture, `lined` a lining inside, where no values are. */
export interface FabricLook {
  readonly worn: { value: number };
  readonly lined: { value: number };
}

/** Make a material fabric. */
export function makeFabric(material: MeshStandardMaterial, look: FabricLook, laid: LaidPicture | null): void {
  const [red, green, blue] = laid?.tint ?? [1, 1, 1];
  const own = { ...look, woven: { value: laid ? 0 : 1 }, tint: { value: new Color(red, green, blue) } };
  material.onBeforeCompile = (shader) => {
    Object.assign(shader.uniforms, own);
    shader.vertexShader = shader.vertexShader.replace("void main() {", VERTEX);
    shader.fragmentShader = shader.fragmentShader
      .replace("void main() {", FRAGMENT)
      .replace("#include <map_fragment>", PICTURE)
      .replace("#include <color_fragment>", COLOUR)
      .replace("#include <opaque_fragment>", LIGHT);
  };
  material.customProgramCacheKey = () => "fabric";
}

/** A picture as it lies on cloth. */
export function pictureOn(image: ImageBitmap, laid: LaidPicture): Texture {
  const texture = new Texture(image, undefined, WRAPPINGS[laid.across], WRAPPINGS[laid.down]);
  texture.colorSpace = SRGBColorSpace;
  texture.flipY = false;
  texture.anisotropy = MOST_SAMPLES;
  texture.needsUpdate = true;
  return texture;
}
