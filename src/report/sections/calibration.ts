import type { CalibrationPoint, CalibrationRecord } from '../../station/index.js';
import { calibrationResidualsFigure } from '../figures/index.js';
import { formatFixed, formatNumber, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { sentence } from './heading.js';
import { estimateMarkup, type FigureBlocks, paragraph, section, table } from './parts.js';
import { allowedHalfWidthDpt, type HandoverInput } from './run.js';

/** What the calibration found, how far it can be trusted, and which build error would explain the difference. */
export function calibrationSection({ commission, plan, station }: HandoverInput, figures: FigureBlocks): Markup {
  const calibration = commission.calibration && {
    ...commission.calibration,
    points: [...commission.calibration.points].sort((a, b) => a.workingDistanceMm - b.workingDistanceMm),
  };
  const title = 'Distance calibration';
  if (calibration === null) {
    return section(
      'calibration',
      title,
      paragraph(
        'No calibration was made: it needs best focus at five or more distances. Without it the predicted powers stand, with their tolerances.',
      ),
    );
  }
  const referenceDegC = station.parts.tunableLens.referenceTemperatureDegC;
  const middleMm = (station.task.nearMm + station.task.farMm) / 2;
  const residuals =
    calibration.points.length > 0 &&
    figures.block(
      (size) =>
        calibrationResidualsFigure(
          { calibration, task: station.task, allowedHalfWidthDpt: allowedHalfWidthDpt(plan, middleMm) },
          size,
        ),
      { heightPx: 250, narrowHeightPx: 260 },
    );
  if (calibration.kind === 'refused') {
    return section(
      'calibration',
      title,
      paragraph(
        element('strong', {}, 'Refused. '),
        `${sentence(calibration.message)} `,
        element('em', {}, sentence(calibration.remedy)),
      ),
      residuals,
      pointsTable(calibration.points, referenceDegC),
    );
  }
  return section(
    'calibration',
    title,
    paragraph(sentence(calibration.explanation)),
    residuals,
    parametersTable(calibration),
    fitParagraph(calibration),
    pointsTable(calibration.points, referenceDegC),
  );
}

function parametersTable({ parameters }: Extract<CalibrationRecord, { kind: 'fitted' }>): Markup {
  return table(
    'What the tolerances allowed before, and what the fit found',
    ['Parameter', 'Before', 'Fitted'],
    parameters.map((p) => [p.title, estimateMarkup(p.prior, p.unit), estimateMarkup(p.fitted, p.unit)]),
  );
}

function fitParagraph({
  residualRmsDpt,
  reducedChiSquare,
  referenceTemperatureDegC,
}: Extract<CalibrationRecord, { kind: 'fitted' }>): Markup {
  return paragraph(
    `Residuals ${withUnit(residualRmsDpt, 'dpt', 2)} rms; chi-square per degree of freedom ${formatNumber(reducedChiSquare, 2)} ` +
      `(1 where residuals are as large as the stated uncertainties; far below 1 they are smaller, far above 1 the model or the uncertainties are wrong); powers hold at ${withUnit(referenceTemperatureDegC, '°C')}.`,
  );
}

function pointsTable(points: readonly CalibrationPoint[], referenceDegC: number): Markup | null {
  if (points.length === 0) return null;
  return table(
    `Points of the calibration; powers brought to ${withUnit(referenceDegC, '°C')}`,
    ['Working distance', 'Predicted', 'Measured', 'Fitted', 'Residual', 'Temperature'],
    points.map((p) => [
      withUnit(p.workingDistanceMm, 'mm', 4),
      `${formatFixed(p.predictedDpt, 3)} dpt`,
      estimateMarkup(p.measuredDpt, 'dpt'),
      `${formatFixed(p.fittedDpt, 3)} dpt`,
      `${formatFixed(p.residualDpt, 4)} dpt`,
      p.temperatureDegC === null ? '–' : withUnit(p.temperatureDegC, '°C'),
    ]),
  );
}
