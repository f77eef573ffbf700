import type { Requirement } from '../../base/index.js';

/** A share of the built stations, with its 95 % confidence interval for the number of stations drawn. */
export interface StationShare {
  share: number;
  lowShare: number;
  highShare: number;
}

/** A share of the built stations, and the values they reach. */
export interface BuiltShare extends StationShare {
  /** 5, 50 and 95 of a hundred stations lie below; null where none could be built. */
  fifthPercentileValue: number | null;
  medianValue: number | null;
  ninetyFifthPercentileValue: number | null;
}

/** What part of the variance one deviation brings. */
export interface Contributor {
  name: string;
  title: string;
  share: number;
}

/** One requirement over many built stations. */
export interface ToleranceRequirement {
  /** As in the plan's ledger. */
  key: string;
  title: string;
  unit: string;
  required: Requirement;
  /** Of the layout as written. */
  nominalValue: number | null;
  now: BuiltShare;
  afterCalibration: BuiltShare;
  /** Largest first; empty where no tolerance matters. */
  contributors: Contributor[];
  contributorsAfterCalibration: Contributor[];
}

/** The answer of `tolerance`. */
export interface ToleranceRecord {
  kind: 'tolerance';
  station: string;
  invented: boolean;
  stationSha256: string;
  softwareVersion: string;
  seed: number;
  stationCount: number;
  /** Drawn stations whose layout cannot be built, or focuses a plane at no power: they meet nothing. */
  notBuildableCount: number;
  /** Why there is nothing to say, and then the rest is empty; null otherwise. */
  refusal: { reason: string; remedy: string } | null;
  requirements: ToleranceRequirement[];
  /** Stations that meet every requirement. */
  all: { now: StationShare; afterCalibration: StationShare } | null;
  calibrationDistanceCount: number;
  assumptions: string[];
}
