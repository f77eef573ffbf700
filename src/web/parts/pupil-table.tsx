import { formatNumber, pupilText } from '../../report/index.js';
import type { PlanRecord } from '../../station/index.js';
import { ScrollTable } from './scroll-table.js';

/** Pupils and aperture at each plane that can be focused. */
export function PupilTable({ planes }: { planes: PlanRecord['planes'] }) {
  return (
    <ScrollTable label="Table of pupils">
      <caption>
        Pupils of the whole system: diameter and place, <span className="unit">mm</span>
      </caption>
      <thead>
        <tr>
          <th scope="col">Plane</th>
          <th scope="col">Entrance pupil</th>
          <th scope="col">Exit pupil</th>
          <th scope="col">Working f-number</th>
          <th scope="col">NA, object</th>
          <th scope="col">NA, image</th>
          <th scope="col">Limited by</th>
        </tr>
      </thead>
      <tbody>
        {planes.map(
          ({ name, pupils, workingFNumber, objectNumericalAperture, limitingStop }) =>
            pupils && (
              <tr key={name}>
                <th scope="row">{name}</th>
                <td>{pupilText(pupils.entrance, 'behind the front')}</td>
                <td>{pupilText(pupils.exit, 'before the sensor')}</td>
                <td>{workingFNumber.toFixed(2)}</td>
                <td>{formatNumber(objectNumericalAperture)}</td>
                <td>{formatNumber(1 / (2 * workingFNumber))}</td>
                <td>{limitingStop === 'fixed-lens' ? 'the fixed lens’s stop' : 'the tunable lens'}</td>
              </tr>
            ),
        )}
      </tbody>
    </ScrollTable>
  );
}
