import { memo } from 'react';
import { Redirect, Route, Switch } from 'wouter';
import { useReadings } from '../state/readings.js';
import { usePlanned, useStation } from '../state/station-state.js';
import { ConnectPage } from './connect-page.js';
import { HandoverPage } from './handover-page.js';
import { LayoutPage } from './layout-page.js';
import { MeasurePage } from './measure-page.js';
import { NoSuchPage } from './no-such-page.js';
import { AutofocusPage, CalibrationPage, ResolutionPage } from './readings-pages.js';
import { RehearsePage } from './rehearse-page.js';
import { SearchPage } from './search-page.js';
import { TaskPage } from './task-page.js';

/** The page of the step that is open. */
export const StepPage = memo(() => (
  <Switch>
    <Route path="/task" component={TaskPage} />
    <Route path="/layout" component={Layout} />
    <Route path="/layout/search" component={Search} />
    <Route path="/rehearse" component={Rehearse} />
    <Route path="/connect" component={Connect} />
    <Route path="/autofocus" component={Autofocus} />
    <Route path="/calibration" component={Calibration} />
    <Route path="/resolution" component={Resolution} />
    <Route path="/resolution/measure" component={Measure} />
    <Route path="/handover" component={HandoverPage} />
    <Route path="/">
      <Redirect to="/layout" />
    </Route>
    <Route path="/measure">
      <Redirect to="/resolution/measure" />
    </Route>
    <Route component={NoSuchPage} />
  </Switch>
));

const Layout = () => <LayoutPage {...usePlanned()} />;
const Search = () => <SearchPage station={usePlanned().station} />;
const Rehearse = () => <RehearsePage {...usePlanned()} />;
const Measure = () => <MeasurePage station={usePlanned().station} />;
const Calibration = () => <CalibrationPage {...useReadings()} />;
const Resolution = () => <ResolutionPage {...useReadings()} />;

function Connect() {
  const yaml = useStation((state) => state.yaml);
  return <ConnectPage station={usePlanned().station} yaml={yaml} />;
}

function Autofocus() {
  const yaml = useStation((state) => state.yaml);
  const { station } = usePlanned();
  return <AutofocusPage {...useReadings()} tried={{ station, yaml }} />;
}
