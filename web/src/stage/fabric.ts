/** The look of fabric: a plain weave that is seen from near, fuzz along the outline, and an inside that is darker. */

import type { MeshStandardMaterial } from "three";

const VERTEX = `
attribute vec3 rest;
attribute vec3 restNormal;
varying vec3 vRest;
varying vec3 vRestNormal;
void main() {
  vRest = rest;
  vRestNormal = restNormal;`;

const FRAGMENT = `
uniform float weave;
varying vec3 vRest;
varying vec3 vRestNormal;
const float PITCH = 0.004; // metres from thread to thread: coarse, so that it is seen at all
const float MEAN = 0.6366; // of a thread's height, which is what is left of it from afar
float threads(vec2 at) {
  vec2 across = abs(sin(3.14159265 * at));
  float height = mix(across.x, across.y, mod(floor(at.x) + floor(at.y), 2.0));
  vec2 pixel = fwidth(at);
  return mix(height, MEAN, smoothstep(0.12, 0.45, max(pixel.x, pixel.y)));
}
void main() {`;

const COLOUR = `#include <color_fragment>
{
  vec3 facing = pow(abs(vRestNormal), vec3(4.0));
  facing /= facing.x + facing.y + facing.z + 1e-6;
  float height = facing.x * threads(vRest.zy / PITCH) + facing.y * threads(vRest.xz / PITCH) + facing.z * threads(vRest.xy / PITCH);
  diffuseColor.rgb *= 1.0 + weave * 0.4 * (height - MEAN);
  if (!gl_FrontFacing) diffuseColor.rgb *= 1.0 - 0.3 * weave;
}`;

const LIGHT = `{
  float edge = 1.0 - abs(dot(normalize(vViewPosition), normal));
  outgoingLight += weave * 0.4 * diffuseColor.rgb * edge * edge * edge;
}
#include <opaque_fragment>`;

/** Weave a material; the returned number says how much of that is seen, 1 or 0. */
export function makeFabric(material: MeshStandardMaterial): { value: number } {
  const weave = { value: 1 };
  material.onBeforeCompile = (shader) => {
    shader.uniforms.weave = weave;
    shader.vertexShader = shader.vertexShader.replace("void main() {", VERTEX);
    shader.fragmentShader = shader.fragmentShader
      .replace("void main() {", FRAGMENT)
      .replace("#include <color_fragment>", COLOUR)
      .replace("#include <opaque_fragment>", LIGHT);
  };
  material.customProgramCacheKey = () => "fabric";
  return weave;
}
