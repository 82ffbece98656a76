/** The body at the two ends of a slider, as chalk lines: only the rim of each surface is drawn. */

import { AdditiveBlending, BufferAttribute, BufferGeometry, Color, Group, Mesh, NormalBlending, ShaderMaterial } from "three";
import { vertexNormals } from "../data/normals.ts";

const VERTEX = `
varying vec3 vNormal;
varying vec3 vView;
void main() {
  vec4 place = modelViewMatrix * vec4(position, 1.0);
  vNormal = normalMatrix * normal;
  vView = -place.xyz;
  gl_Position = projectionMatrix * place;
}`;

const FRAGMENT = `
uniform vec3 colour;
uniform float strength;
varying vec3 vNormal;
varying vec3 vView;
void main() {
  float facing = abs(dot(normalize(vNormal), normalize(vView)));
  gl_FragColor = vec4(colour, strength * smoothstep(0.5, 0.12, facing));
  #include <colorspace_fragment>
}`;

export class Outline {
  readonly group = new Group();

  constructor() {
    this.group.visible = false;
    this.group.renderOrder = 1;
  }

  /** Draw the rims of these bodies; none clears them. */
  show(bodies: readonly Float32Array[], faces: Uint32Array, isDark: boolean): void {
    for (const mesh of this.group.children) {
      const { geometry, material } = mesh as Mesh<BufferGeometry, ShaderMaterial>;
      geometry.dispose();
      material.dispose();
    }
    this.group.clear();
    this.group.visible = bodies.length > 0;
    for (const points of bodies) this.group.add(rim(points, faces, isDark));
  }
}

function rim(points: Float32Array, faces: Uint32Array, isDark: boolean): Mesh {
  const normals = new Float32Array(points.length);
  vertexNormals(points, faces, normals);
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(points, 3));
  geometry.setAttribute("normal", new BufferAttribute(normals, 3));
  geometry.setIndex(new BufferAttribute(faces, 1));
  const material = new ShaderMaterial({
    vertexShader: VERTEX,
    fragmentShader: FRAGMENT,
    uniforms: { colour: { value: new Color(isDark ? "#9fc3ee" : "#20509a") }, strength: { value: isDark ? 0.7 : 0.62 } },
    blending: isDark ? AdditiveBlending : NormalBlending,
    transparent: true,
    depthTest: false,
    depthWrite: false,
  });
  const mesh = new Mesh(geometry, material);
  mesh.frustumCulled = false;
  return mesh;
}
