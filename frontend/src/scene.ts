/** The wrapped load in three dimensions. Loaded only where it is shown. */

import {
  BoxGeometry,
  BufferAttribute,
  BufferGeometry,
  Color,
  CylinderGeometry,
  DataTexture,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  ExtrudeGeometry,
  Group,
  HemisphereLight,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  MeshPhongMaterial,
  NearestFilter,
  PerspectiveCamera,
  Scene,
  Shape,
  SRGBColorSpace,
  WebGLRenderer,
} from "three";
import type { Predicted } from "./generated/api";
import { countLayers, shadeOf } from "./heat";
import { edgeAt, legAt } from "./legs";
import type { Station } from "./perimeter";
import { Perimeter } from "./perimeter";

const TABLE = 0.08;
const COLUMNS = 480;
const ROWS = 360;
const BESIDE = 0.004;

/** Turns drawn so far are a beginning of the triangles and lines: `ends` says where each turn's stop. */
interface Strip {
  film: Mesh;
  edges: LineSegments;
  ends: number[];
}

export class WrapScene {
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(20, 1, 0.1, 80);
  private readonly sight = { around: 0.42, above: 0.3, away: 1 };
  private turning = new Group();
  private standing = new Group();
  private carriage = new Group();
  private span: Mesh | null = null;
  private strip: Strip | null = null;
  private heat: Mesh | null = null;
  private view: Predicted | null = null;
  private perimeter: Perimeter | null = null;
  private turn = 0;
  private isHeat = false;
  private isAsked = false;

  constructor(private readonly host: HTMLElement) {
    this.renderer = new WebGLRenderer({ antialias: true, alpha: true, powerPreference: "low-power" });
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    host.append(this.renderer.domElement);
    const sun = new DirectionalLight(0xffffff, 1.6);
    sun.position.set(3, 6, 4);
    this.scene.add(new HemisphereLight(0xffffff, 0x8a8a80, 1.9), sun, this.turning, this.standing);
    new ResizeObserver(() => this.fit()).observe(host);
    this.listen();
    this.fit();
  }

  /** Draws another load; the turn shown stays if there is such a turn. */
  setView(view: Predicted): void {
    this.view = view;
    this.perimeter = new Perimeter({ ...view, turns: view.prediction.turns });
    for (const group of [this.turning, this.standing]) {
      group.traverse((each) => {
        if (each instanceof Mesh || each instanceof LineSegments) (each.geometry as BufferGeometry).dispose();
      });
      group.clear();
    }
    const onDeck = this.load(view);
    this.strip = this.film(view, this.perimeter);
    this.heat = this.layers(view, this.perimeter);
    this.span = new Mesh(new BufferGeometry(), filmMaterial(0.32));
    onDeck.add(this.strip.film, this.strip.edges, this.heat, this.span);
    this.standing.add(this.mast(view));
    this.setTurn(Math.min(this.turn, view.prediction.turns));
  }

  setHeat(isHeat: boolean): void {
    this.isHeat = isHeat;
    this.setTurn(this.turn);
  }

  /** Shows the cycle after some turns. */
  setTurn(turn: number): void {
    this.turn = turn;
    const { view, perimeter, strip, heat, span } = this;
    if (!view || !perimeter || !strip || !heat || !span) return;
    const laid = perimeter.laid(turn);
    let count = 0;
    while (count < strip.ends.length && (strip.ends[count] as number) <= laid + 1e-6) count += 1;
    strip.film.geometry.setDrawRange(0, count * 6);
    strip.edges.geometry.setDrawRange(0, count * 4);
    strip.film.visible = strip.edges.visible = !this.isHeat;
    heat.visible = this.isHeat;
    if (this.isHeat) this.paint(heat, view, laid);

    const leg = legAt(view.legs, turn);
    const edge = edgeAt(leg, turn);
    const ground = TABLE + view.load.deck_height_m;
    this.carriage.position.y = ground + edge + leg.width_m / 2;
    const angle = perimeter.angle(turn);
    const isTable = view.machine.kind === "turntable";
    this.turning.rotation.y = isTable ? -angle : 0;
    this.standing.rotation.y = isTable ? 0 : angle;

    // The free film from where it leaves the load to the carriage, in the load's frame.
    const end = perimeter.at(laid);
    const laidLeg = legAt(view.legs, Math.min(laid, view.prediction.turns) - 1e-9);
    const low = edgeAt(laidLeg, laid);
    const exit = view.machine.exit_distance_m;
    const corners = [
      ...place(end, low, BESIDE),
      ...place(end, low + laidLeg.width_m, BESIDE),
      exit * Math.cos(angle),
      edge,
      -exit * Math.sin(angle),
      exit * Math.cos(angle),
      edge + leg.width_m,
      -exit * Math.sin(angle),
    ];
    span.geometry.dispose();
    span.geometry = new BufferGeometry();
    span.geometry.setAttribute("position", new BufferAttribute(new Float32Array(corners), 3));
    span.geometry.setIndex([0, 2, 1, 1, 2, 3]);
    span.geometry.computeVertexNormals();
    span.visible = turn < view.prediction.turns - 1e-6;
    this.draw();
  }

  /** Turns, tips or brings near the eye. */
  look(around: number, above: number, nearer = 1): void {
    this.sight.around += around;
    this.sight.above = Math.min(1.5, Math.max(-0.1, this.sight.above + above));
    this.sight.away = Math.min(2, Math.max(0.45, this.sight.away / nearer));
    this.draw();
  }

  private listen(): void {
    const canvas = this.renderer.domElement;
    canvas.setAttribute("aria-hidden", "true");
    canvas.addEventListener("pointerdown", (event) => canvas.setPointerCapture(event.pointerId));
    canvas.addEventListener("pointermove", (event) => {
      if (event.buttons & 1)
        this.look(-event.movementX * 0.008, event.pointerType === "mouse" ? event.movementY * 0.006 : 0);
    });
  }

  private fit(): void {
    const { clientWidth: width, clientHeight: height } = this.host;
    if (!width || !height) return;
    this.renderer.setSize(width, height);
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  private draw(): void {
    if (this.isAsked) return;
    this.isAsked = true;
    requestAnimationFrame(() => {
      this.isAsked = false;
      const height = this.view ? this.view.load.height_m + this.view.load.deck_height_m : 1.5;
      const reach = this.view ? this.view.machine.exit_distance_m : 1.5;
      // The mast stands out over the load.
      const size = Math.max(1.15 * (height + 0.3), (1.9 * reach) / this.camera.aspect);
      const away = this.sight.away * (1 + 2.9 * size);
      const { around, above } = this.sight;
      this.camera.position.set(
        0.3 * reach + away * Math.cos(above) * Math.sin(around),
        0.5 * height + away * Math.sin(above),
        away * Math.cos(above) * Math.cos(around),
      );
      this.camera.lookAt(0.3 * reach, 0.48 * (height + 0.3), 0);
      this.renderer.render(this.scene, this.camera);
    });
  }

  /** Turntable, pallet and tiers. Hands back the group whose heights count from the deck. */
  private load(view: Predicted): Group {
    const whole = this.turning;
    const stations = new Perimeter({ ...view, turns: view.prediction.turns }).stations;
    const outer = Math.max(...stations.map((each) => Math.hypot(each.x, each.y)));
    const table = new Mesh(
      new CylinderGeometry(outer * 1.06, outer * 1.06, TABLE * 0.8, 64),
      new MeshLambertMaterial({ color: 0x8f9698 }),
    );
    table.position.y = TABLE * 0.4;
    if (view.machine.kind === "turntable") whole.add(table);
    const onDeck = new Group();
    onDeck.position.y = TABLE + view.load.deck_height_m;
    whole.add(pallet(view, stations));
    const shape = new Shape();
    const [first, ...others] = stations;
    if (first) shape.moveTo(first.x, first.y);
    for (const each of others) shape.lineTo(each.x, each.y);
    const tall = view.load.height_m / view.load.tiers;
    const paper = new MeshLambertMaterial({ color: 0xc9b48f });
    const other = new MeshLambertMaterial({ color: 0xbfa981 });
    const ink = new LineBasicMaterial({ color: 0x6b5c40, transparent: true, opacity: 0.55 });
    const geometry = new ExtrudeGeometry(shape, { depth: tall * 0.985, bevelEnabled: false });
    geometry.rotateX(-Math.PI / 2);
    const lines = new EdgesGeometry(geometry, 30);
    for (let tier = 0; tier < view.load.tiers; tier += 1) {
      const box = new Mesh(geometry, tier % 2 ? other : paper);
      box.position.y = tier * tall;
      const rim = new LineSegments(lines, ink);
      rim.position.y = tier * tall;
      onDeck.add(box, rim);
    }
    whole.add(onDeck);
    return onDeck;
  }

  /** The whole program as one strip, in the order in which it is laid. */
  private film(view: Predicted, perimeter: Perimeter): Strip {
    const points: number[] = [];
    const triangles: number[] = [];
    const lines: number[] = [];
    const ends: number[] = [];
    for (const leg of view.legs) {
      const turns = [leg.first_turn];
      for (let whole = Math.floor(leg.first_turn); whole <= Math.floor(leg.last_turn); whole += 1) {
        for (const { share } of perimeter.stations.slice(0, -1)) {
          const turn = whole + share;
          if (turn > leg.first_turn + 1e-6 && turn < leg.last_turn - 1e-6) turns.push(turn);
        }
      }
      turns.push(leg.last_turn);
      turns.forEach((turn, index) => {
        const edge = edgeAt(leg, turn);
        const beside = BESIDE + 0.0005 * Math.floor(turn);
        const station = perimeter.at(turn);
        points.push(...place(station, edge, beside), ...place(station, edge + leg.width_m, beside));
        if (!index) return;
        const last = points.length / 3 - 4;
        triangles.push(last, last + 2, last + 1, last + 1, last + 2, last + 3);
        lines.push(last, last + 2, last + 1, last + 3);
        ends.push(turn);
      });
    }
    const position = new BufferAttribute(new Float32Array(points), 3);
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", position);
    geometry.setIndex(triangles);
    geometry.computeVertexNormals();
    const rims = new BufferGeometry();
    rims.setAttribute("position", position);
    rims.setIndex(lines);
    return {
      film: new Mesh(geometry, filmMaterial(0.17)),
      edges: new LineSegments(rims, new LineBasicMaterial({ color: 0x2f6478, transparent: true, opacity: 0.6 })),
      ends,
    };
  }

  /** The load's side, to be painted with its layers. */
  private layers(view: Predicted, perimeter: Perimeter): Mesh {
    const bottom = this.lowest(view);
    const points: number[] = [];
    const places: number[] = [];
    const triangles: number[] = [];
    perimeter.stations.forEach((station, index) => {
      points.push(...place(station, bottom, BESIDE), ...place(station, view.load.height_m, BESIDE));
      places.push(station.share, 0, station.share, 1);
      if (index) triangles.push(2 * index - 2, 2 * index, 2 * index - 1, 2 * index - 1, 2 * index, 2 * index + 1);
    });
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(points), 3));
    geometry.setAttribute("uv", new BufferAttribute(new Float32Array(places), 2));
    geometry.setIndex(triangles);
    const texture = new DataTexture(new Uint8Array(COLUMNS * ROWS * 4), COLUMNS, ROWS);
    texture.colorSpace = SRGBColorSpace;
    texture.magFilter = texture.minFilter = NearestFilter;
    return new Mesh(geometry, new MeshBasicMaterial({ map: texture, side: DoubleSide }));
  }

  private lowest(view: Predicted): number {
    return Math.min(0, ...view.legs.flatMap((leg) => [leg.first_edge_m, leg.last_edge_m]));
  }

  private paint(heat: Mesh, view: Predicted, until: number): void {
    const texture = (heat.material as MeshBasicMaterial).map as DataTexture;
    const data = texture.image.data as Uint8Array;
    const counts = countLayers(view.legs, until, COLUMNS, ROWS, this.lowest(view), view.load.height_m);
    const shades = Array.from({ length: 16 }, (_, layers) =>
      new Color(shadeOf(layers)).getRGB({ r: 0, g: 0, b: 0 }, SRGBColorSpace),
    );
    counts.forEach((layers, index) => {
      const shade = shades[Math.min(layers, 15)];
      if (!shade) return;
      data[4 * index] = 255 * shade.r;
      data[4 * index + 1] = 255 * shade.g;
      data[4 * index + 2] = 255 * shade.b;
      data[4 * index + 3] = 255;
    });
    texture.needsUpdate = true;
  }

  private mast(view: Predicted): Group {
    const whole = new Group();
    const tall = TABLE + view.load.deck_height_m + view.load.height_m + 0.35;
    const width = view.prediction.film_width_on_load_m;
    const steel = new MeshLambertMaterial({ color: 0x737b7e });
    const post = new Mesh(new BoxGeometry(0.12, tall, 0.16), steel);
    post.position.set(view.machine.exit_distance_m + 0.3, tall / 2, 0);
    this.carriage = new Group();
    const body = new Mesh(new BoxGeometry(0.3, width * 1.12, 0.05), new MeshLambertMaterial({ color: 0x9aa2a5 }));
    body.position.set(view.machine.exit_distance_m + 0.12, 0, 0.09);
    const roller = new Mesh(
      new CylinderGeometry(0.03, 0.03, width * 1.1, 20),
      new MeshLambertMaterial({ color: 0x40474a }),
    );
    roller.position.set(view.machine.exit_distance_m, 0, 0);
    const roll = new Mesh(
      new CylinderGeometry(0.12, 0.12, width * 1.2, 32),
      new MeshLambertMaterial({ color: 0xd5e0e2 }),
    );
    roll.position.set(view.machine.exit_distance_m + 0.17, 0, -0.16);
    this.carriage.add(body, roller, roll);
    whole.add(post, this.carriage);
    if (view.machine.kind !== "turntable") {
      const beam = new Mesh(new BoxGeometry(view.machine.exit_distance_m + 0.36, 0.1, 0.14), steel);
      beam.position.set((view.machine.exit_distance_m + 0.36) / 2, tall, 0);
      whole.add(beam);
    }
    return whole;
  }
}

function filmMaterial(opacity: number): MeshPhongMaterial {
  return new MeshPhongMaterial({
    color: 0x9fc9d6,
    specular: 0xffffff,
    shininess: 60,
    transparent: true,
    opacity,
    side: DoubleSide,
    depthWrite: false,
  });
}

/** A place beside the load: the plan's x and y lie flat, heights point up. */
function place(station: Station, height: number, beside: number): [number, number, number] {
  return [station.x + beside * station.out[0], height, -(station.y + beside * station.out[1])];
}

function pallet(view: Predicted, stations: Station[]): Group {
  const whole = new Group();
  const spanOf = (values: number[]): number => Math.max(...values) - Math.min(...values);
  const length = view.load.pallet_length_m ?? spanOf(stations.map((each) => each.x));
  const width = view.load.pallet_width_m ?? spanOf(stations.map((each) => each.y));
  const middle = (values: number[]): number => (Math.max(...values) + Math.min(...values)) / 2;
  whole.position.set(middle(stations.map((each) => each.x)), TABLE, -middle(stations.map((each) => each.y)));
  const tall = view.load.deck_height_m;
  if (!tall) return whole;
  const wood = new MeshLambertMaterial({ color: 0xa98e64 });
  const board = Math.min(0.022, tall / 5);
  const add = (long: number, high: number, wide: number, x: number, y: number, z: number): void => {
    const part = new Mesh(new BoxGeometry(long, high, wide), wood);
    part.position.set(x, y, z);
    whole.add(part);
  };
  for (let index = 0; index < 7; index += 1)
    add(length * 0.11, board, width, (length * 0.89 * (index - 3)) / 6, tall - board / 2, 0);
  for (const side of [-1, 0, 1]) {
    const z = side * width * 0.44;
    add(length, board, width * 0.1, 0, tall - 1.5 * board, z);
    add(length, board, width * 0.1, 0, board / 2, z);
    for (const end of [-1, 0, 1])
      add(length * 0.11, tall - 3 * board, width * 0.1, end * length * 0.445, tall / 2 - board / 2, z);
  }
  return whole;
}
