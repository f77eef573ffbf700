/**
 * The one catalogue of what can go wrong in the world: devices, files, stations, network. A wrong argument in code is a
 * RangeError; an honest "no" of a procedure is a result. Each code is documented in docs/errors.md, held by a test.
 */
export const errorCatalogue = {
  'station-unreadable': {
    what: 'The station file cannot be read.',
    remedy: 'Check the path and the read permission.',
  },
  'station-needed': {
    what: 'A station file is needed, and none was given: it says with which optics and which sensor the frames were taken.',
    remedy:
      'Add --station FILE, or the name of a demonstration station that the frames belong to; a handover folder holds its own.',
  },
  'station-malformed': {
    what: 'The station file is not valid YAML.',
    remedy: 'Correct the marked line; indent with spaces, one key per line.',
  },
  'station-invalid': {
    what: 'The station file has values or keys that are not allowed.',
    remedy: 'Correct each listed key; `focuswright schema` prints the published JSON Schema.',
  },
  'parts-unreadable': {
    what: 'The parts library cannot be read.',
    remedy: 'Give a folder with YAML files or CSV tables of parts, or one such file; see docs/station/parts.md.',
  },
  'parts-invalid': {
    what: 'The parts library has values, keys or columns that are not allowed.',
    remedy: 'Correct each listed place; docs/station/parts.md tells keys, units and columns.',
  },
  'parts-missing': {
    what: 'The parts library lacks a kind of part that a layout needs.',
    remedy: 'Add at least one sensor, fixed lens, tunable lens, spacer (of 0 mm for none) and light.',
  },
  'layout-rank-missing': {
    what: 'The search found no layout of this rank.',
    remedy: 'Choose a rank of the list that the search prints.',
  },
  'layout-forms-no-image': {
    what: 'The parts as laid out form no real image of a real object on the sensor.',
    remedy: 'Check focal length, ring distance, spacer and gap; see docs/optics/power-distance.md.',
  },
  'frames-folder-missing': {
    what: 'The folder of recorded frames does not exist or is not a folder.',
    remedy: 'Give the folder that holds frames.csv and the image files.',
  },
  'frames-folder-empty': {
    what: 'The folder of recorded frames holds no frames.',
    remedy: 'Export at least one frame with its row in frames.csv.',
  },
  'frames-table-invalid': {
    what: 'frames.csv has missing columns or values that are not allowed.',
    remedy: 'Needed columns: file, focalPowerDpt, workingDistanceMm; see docs/drivers/recorded-frames.md.',
  },
  'part-line-invalid': {
    what: 'A line that should announce a part says something else.',
    remedy: 'Send one line for each part: empty, or its working distance in mm, such as 412.5.',
  },
  'sweep-not-single': {
    what: 'The folder holds sweeps at several target distances; one has to be chosen.',
    remedy: 'Name one with --distance-mm.',
  },
  'calibration-unusable': {
    what: 'The distance calibration cannot be used.',
    remedy:
      'Give the results.json of a handover whose calibration was fitted, or leave it out to use the optical model.',
  },
  'frames-too-few': {
    what: 'A level of a noise measurement has one frame only.',
    remedy: 'Give at least two frames of each level, or a TIFF of several pages.',
  },
  'recording-unreadable': {
    what: 'The folder holds no recording of a run.',
    remedy: 'Give a handover folder: it holds recording.json; or read its frames alone with `frames:DIR/frames`.',
  },
  'recording-departed': {
    what: 'The run asks for something else than was recorded.',
    remedy: 'Replay with the same station file and version; or read the frames alone with `frames:DIR/frames`.',
  },
  'image-unreadable': {
    what: 'An image file is missing, truncated or of an unsupported kind.',
    remedy: 'Export again as 8 or 16 bit greyscale PNG or TIFF.',
  },
  'image-too-large': {
    what: 'An image declares more pixels than the tool accepts.',
    remedy: 'Crop or export a smaller region; the limit guards against decompression bombs.',
  },
  'region-outside-frame': {
    what: 'The region of interest does not lie inside the image.',
    remedy: 'Give --roi x,y,w,h in whole pixels, counted from the top left corner, inside the image.',
  },
  'region-too-small': {
    what: 'The region is too small to judge focus by.',
    remedy: 'Give a larger region with --roi x,y,w,h; 128 × 128 pixels and more are found faster and in less light.',
  },
  'camera-address-unknown': {
    what: 'The camera address is not one this version can open.',
    remedy: 'Use `simulated`, `frames:DIR` or `genicam:CAMERA`; `focuswright cameras` lists what is reachable.',
  },
  'device-library-missing': {
    what: 'The library that talks to GenICam cameras is not installed.',
    remedy:
      'Install Aravis 0.8: Debian and Ubuntu `sudo apt-get install libaravis-0.8-0`, macOS `brew install aravis`, Windows see docs/devices/real-camera.md.',
  },
  'camera-not-found': {
    what: 'No camera answers at this address.',
    remedy:
      'List what is reachable with `focuswright cameras`; check cable, supply, IP address and subnet, and the firewall.',
  },
  'camera-in-use': {
    what: 'Another program controls the camera.',
    remedy: 'Close the other program; after a crash of one the camera frees itself within some seconds.',
  },
  'camera-refused': {
    what: 'The camera refused a command or answered with an error.',
    remedy: 'See the feature’s range and access with `focuswright inspect`.',
  },
  'camera-closed': {
    what: 'The camera was used after it had been closed.',
    remedy: 'Open the camera again.',
  },
  'camera-link-lost': {
    what: 'The link to the camera was lost.',
    remedy: 'Check cable and supply, then start again; a commissioning has saved what it measured.',
  },
  'feature-missing': {
    what: 'The camera lacks a feature that this needs.',
    remedy:
      'See what it offers with `focuswright inspect`, and name the feature in controls.featureMap if it is called otherwise.',
  },
  'setting-refused': {
    what: 'The camera does not take this setting.',
    remedy: 'Choose one of the allowed values; `focuswright inspect` lists them.',
  },
  'lens-missing': {
    what: 'The camera has no lens that can be commanded.',
    remedy:
      'Measure its frames without focusing (`focuswright measure … genicam:CAMERA`, or on the page); or name the features of the lens in controls.featureMap (see `focuswright inspect`).',
  },
  'lens-current-out-of-range': {
    what: 'The wanted lens current lies outside the limits of lens or station.',
    remedy: 'Choose a current inside the limits; widening them is for the maker’s datasheet to allow.',
  },
  'lens-too-hot': {
    what: 'The lens is warmer than it may be; it was parked.',
    remedy: 'Let it cool, lower the sustained power or improve the heat path; the limit is the maker’s datasheet’s.',
  },
  'lens-fault': {
    what: 'The lens controller reports an error, or does not get ready.',
    remedy: 'Check the lens cable and its supply, then open the camera again; a hot lens must cool first.',
  },
  'frame-lost': {
    what: 'A frame did not arrive.',
    remedy:
      'Grab again; if it repeats, run `focuswright check` for the receive buffers, let the camera send smaller packets (controls.featureMap.packetBytes) or fewer frames a second, end other heavy programs, and try another cable or network card.',
  },
  'lens-power-out-of-range': {
    what: 'The wanted focal power lies outside the limits of lens or station.',
    remedy: 'Choose a power inside the limits; widening them is for the maker’s datasheet to allow.',
  },
  'lens-not-moving': {
    what: 'The lens reports a focal power that does not follow the command.',
    remedy: 'Check the lens cable and that the lens driver is enabled.',
  },
  'target-not-placeable': {
    what: 'The target cannot be brought to the wanted distance.',
    remedy: 'Choose a distance that the stage, or the recorded frames, offer.',
  },
  'output-not-writable': {
    what: 'The output folder cannot be written.',
    remedy: 'Choose another folder with --out, or give write permission.',
  },
  'output-exists': {
    what: 'The output folder already holds something.',
    remedy: 'Choose a new or empty folder; results are never overwritten.',
  },
  'picture-not-writable': {
    what: 'The picture cannot be written.',
    remedy: 'Give --picture a file that ends in .png or .svg, in a folder that exists and may be written.',
  },
  'run-in-progress': {
    what: 'Another run is under way.',
    remedy: 'Wait for it to end, or cancel it.',
  },
  'port-in-use': {
    what: 'The network port is taken by another program.',
    remedy: 'Choose another with --port, or stop the other program.',
  },
  'gige-port-in-use': {
    what: 'Something else serves a GigE Vision camera at this address: its UDP port is taken.',
    remedy: 'Give another address of this machine, such as 127.0.0.2, or end what holds the port (`ss -lunp`).',
  },
  'gige-address-unusable': {
    what: 'A camera cannot be served at this address.',
    remedy: 'Give an address of this machine, such as 127.0.0.1; `ip address` lists them.',
  },
  'fault-unknown': {
    what: 'There is no such fault, or it cannot have this number.',
    remedy: 'Give NAME or NAME=NUMBER; `focuswright twin --help` lists them.',
  },
  cancelled: {
    what: 'The work was cancelled.',
    remedy: 'Start again when ready; what a commissioning had measured until then is saved.',
  },
} as const satisfies Record<string, { what: string; remedy: string }>;

/** A code of the catalogue. */
export type ErrorCode = keyof typeof errorCatalogue;

/** What was met: file, line, key, received value, allowed range… as short texts with units, or numbers. */
export type ErrorDetails = Record<string, string | number | boolean | null | readonly string[]>;

/** Trouble in the world, with a code, details with units and the catalogue's remedy. */
export class FocuswrightError extends Error {
  readonly code: ErrorCode;
  readonly details: ErrorDetails;
  readonly remedy: string;

  /** `remedy` replaces the catalogue's when more is known about the case at hand. */
  constructor(code: ErrorCode, details: ErrorDetails = {}, options: { remedy?: string; cause?: unknown } = {}) {
    super(messageOf(code, details), options.cause === undefined ? undefined : { cause: options.cause });
    this.name = 'FocuswrightError';
    this.code = code;
    this.details = details;
    this.remedy = options.remedy ?? errorCatalogue[code].remedy;
  }
}

function messageOf(code: ErrorCode, details: ErrorDetails): string {
  const isList = (value: ErrorDetails[string]): value is readonly string[] => Array.isArray(value);
  const short = Object.entries(details).flatMap(([key, value]) => (isList(value) ? [] : [`${key}: ${value}`]));
  const lines = Object.values(details).filter(isList).flat();
  const head = [errorCatalogue[code].what, short.join('; ')].filter((part) => part !== '').join(' ');
  return [head, ...lines].join('\n  ');
}
