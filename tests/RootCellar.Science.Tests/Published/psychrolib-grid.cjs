// Reads airs, one a line: temperature C, humidity 0..1 (or "-"), vapour pressure Pa, pressure Pa. Writes for each what psychrolib
// makes of it: saturation pressure, dew (below 0.01 C: frost) point, wet bulb, humidity ratio, enthalpy, deficit.
// Its humidity below 0 C is over ice, ours over water, so below 0 C it is given the vapour pressure instead ("-").
'use strict';
const psychrolib = require(require.resolve('psychrolib', { paths: [process.argv[2]] }));
psychrolib.SetUnitSystem(psychrolib.SI);
const answers = [];
for (const line of require('fs').readFileSync(0, 'utf8').trim().split('\n')) {
  const [t, humidity, given, pressure] = line.split(' ').map(Number);
  const vapour = Number.isNaN(humidity) ? given : psychrolib.GetVapPresFromRelHum(t, humidity);
  const ratio = psychrolib.GetHumRatioFromVapPres(vapour, pressure);
  answers.push([
    psychrolib.GetSatVapPres(t),
    psychrolib.GetTDewPointFromVapPres(t, vapour),
    psychrolib.GetTWetBulbFromHumRatio(t, ratio, pressure),
    ratio,
    psychrolib.GetMoistAirEnthalpy(t, ratio),
    psychrolib.GetVaporPressureDeficit(t, ratio, pressure),
  ].join(' '));
}
process.stdout.write(answers.join('\n') + '\n');
