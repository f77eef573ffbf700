import { z } from 'zod';
import { FocuswrightError } from '../base/index.js';
import { type CrossCheckIssue, crossCheckIssues } from './cross-checks.js';
import { light } from './part-schemas.js';
import type { Light } from './parts-library/part-kinds.js';
import { middleFNumberOf, whiteIrradianceUwPerCm2 } from './predicted-light.js';
import { readStation } from './read-station.js';
import { commissioning, controls, rehearsal, type Station, stationSchema, task } from './schema.js';
import { problemsOf } from './station-problem.js';
import { crossCheckInWords, schemaIssueInWords } from './value-problems.js';
import { parseYamlText } from './yaml-text.js';

/** A light whose irradiance on the sensor is known at a working f-number, so that it can be carried over to a layout. */
export interface SearchLight {
  part: Light;
  irradianceUwPerCm2: number;
  /** Working f-number at the middle of the range that the irradiance holds for. */
  workingFNumber: number;
}

/** A task that wants a layout: what the search keeps of a station file, or all that a file with a task alone says. */
export interface SearchTask {
  name: string;
  invented: boolean;
  task: Station['task'];
  /** null: the search takes the first light of its library. */
  light: SearchLight | null;
  compensateTemperature: boolean;
  commissioning: Station['commissioning'];
  rehearsal: Station['rehearsal'];
}

/** f-number that a light without a layout is taken to be stated at, if it does not say. */
const usualFNumber = 4;

/** A light of a library, or of a task without a layout; null for one that is known by a measured frame alone. */
export function searchLightOf(part: Light): SearchLight | null {
  if (part.sensorIrradianceUwPerCm2 === undefined) return null;
  return {
    part,
    irradianceUwPerCm2: part.sensorIrradianceUwPerCm2,
    workingFNumber: part.atFNumber ?? usualFNumber,
  };
}

const taskFile = z.strictObject({
  station: stationSchema.shape.station.default('searched-layout'),
  format: stationSchema.shape.format,
  invented: stationSchema.shape.invented,
  task,
  light: light.optional(),
  controls: controls.pick({ compensateTemperature: true }).prefault({}),
  commissioning: commissioning.prefault({}),
  rehearsal: rehearsal.prefault({}),
});

/** What a station that is already laid out asks of another layout. */
export function searchTaskOfStation(station: Station): SearchTask {
  return {
    name: station.station,
    invented: station.invented,
    task: station.task,
    light: {
      part: station.parts.light,
      irradianceUwPerCm2: whiteIrradianceUwPerCm2(station),
      workingFNumber: middleFNumberOf(station, station.layout.fNumber),
    },
    compensateTemperature: station.controls.compensateTemperature,
    commissioning: station.commissioning,
    rehearsal: station.rehearsal,
  };
}

/**
 * Reads the task of a search: a station file, or a file with `format`, `task` and, if wanted, `light`,
 * `controls.compensateTemperature`, `commissioning` and `rehearsal`.
 *
 * Throws   FocuswrightError `station-malformed` or `station-invalid`, with `file` and the list `problems`.
 */
export function readSearchTask(yamlText: string, { fileName }: { fileName: string }): SearchTask {
  const parsed = parseYamlText(yamlText);
  const value: unknown = parsed.kind === 'parsed' ? parsed.document.toJS() : null;
  const hasTaskAlone =
    typeof value === 'object' && value !== null && 'task' in value && !('parts' in value || 'layout' in value);
  if (parsed.kind === 'malformed' || !hasTaskAlone) return searchTaskOfStation(readStation(yamlText, { fileName }));

  const source = {
    ...parsed,
    stationPath: (path: (string | number)[]) => (path[0] === 'light' ? ['parts', ...path] : path),
  };
  const result = taskFile.safeParse(value);
  const relations: CrossCheckIssue[] = crossCheckIssues(value);
  const ownLight = result.data?.light;
  if (ownLight && !searchLightOf(ownLight)) {
    const message =
      'needs the sensor and layout it was taken with; give sensorIrradianceUwPerCm2, or a whole station file';
    relations.push({ path: ['light', 'measured'], input: ownLight.measured, message });
  }
  if (!result.success || relations.length > 0 || parsed.duplicates.length > 0) {
    const ofSchema = (result.error?.issues ?? []).flatMap((issue) => schemaIssueInWords(issue, source));
    const ofRelations = relations.map((issue) => crossCheckInWords(issue, source));
    const problems = problemsOf(fileName, [...parsed.duplicates, ...ofSchema, ...ofRelations]);
    throw new FocuswrightError('station-invalid', { file: fileName, problems: problems.map(({ text }) => text) });
  }
  const { station, light: _, controls: wanted, format: __, ...rest } = result.data;
  return {
    ...rest,
    name: station,
    light: ownLight ? searchLightOf(ownLight) : null,
    compensateTemperature: wanted.compensateTemperature,
  };
}
