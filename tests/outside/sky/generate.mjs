// Sun and Earth over one site on the Moon for the whole of 2031, every 12 hours, by astronomy-engine.
//
//   npm install && npm run generate        (writes sky_2031.csv; the committed file came from version 2.1.19)
//
// Its models are its own: a truncated VSOP87 for the Earth, a Moon after Brown's theory, and the IAU rotation of
// the Moon as it codes it. Geometric directions: no light time, no aberration. It takes dates as UT and
// extrapolates the difference to dynamical time, which is why that is set to 37 leap seconds + 32.184 s here.

import * as astronomy from 'astronomy-engine';

astronomy.SetDeltaTFunction(() => 69.184);

const latitude = -20;
const longitude = 30;
const moonRadius = 1737.4; // km, sphere

const radians = (degrees) => degrees * Math.PI / 180;
const degrees = (radians) => radians * 180 / Math.PI;
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a, b) => a.map((x, i) => x - b[i]);
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const length = (a) => Math.sqrt(dot(a, a));
const unit = (a) => a.map((x) => x / length(a));
const components = (v) => [v.x, v.y, v.z];

// A direction fixed to the Moon, in the equatorial frame of J2000.
function fromMoonFixed(fixed, axis) {
  const pole = components(axis.north);
  // The node of the Moon's equator on the equator of J2000; the prime meridian lies `spin` degrees beyond it.
  const node = unit(cross([0, 0, 1], pole));
  const third = cross(pole, node);
  const spin = radians(axis.spin);
  const x = node.map((n, i) => n * Math.cos(spin) + third[i] * Math.sin(spin));
  const y = cross(pole, x);
  return [0, 1, 2].map((i) => fixed[0] * x[i] + fixed[1] * y[i] + fixed[2] * pole[i]);
}

function seen(target, up, east, north) {
  const direction = unit(target);
  const azimuth = degrees(Math.atan2(dot(direction, east), dot(direction, north)));
  return [degrees(Math.asin(dot(direction, up))), (azimuth + 360) % 360];
}

const lines = ['utc,sun_elevation_deg,sun_azimuth_deg,earth_elevation_deg,earth_azimuth_deg,earth_distance_km'];
for (let time = Date.UTC(2031, 0, 1); time <= Date.UTC(2032, 0, 1); time += 12 * 3600 * 1000) {
  const date = astronomy.MakeTime(new Date(time));
  const axis = astronomy.RotationAxis(astronomy.Body.Moon, date);
  const lat = radians(latitude);
  const lon = radians(longitude);
  const up = fromMoonFixed([Math.cos(lat) * Math.cos(lon), Math.cos(lat) * Math.sin(lon), Math.sin(lat)], axis);
  const east = fromMoonFixed([-Math.sin(lon), Math.cos(lon), 0], axis);
  const north = cross(up, east);
  const site = up.map((x) => x * moonRadius / astronomy.KM_PER_AU);
  const earth = minus(components(astronomy.GeoVector(astronomy.Body.Moon, date, false)).map((x) => -x), site);
  const sun = minus(components(astronomy.HelioVector(astronomy.Body.Moon, date)).map((x) => -x), site);
  const values = [...seen(sun, up, east, north), ...seen(earth, up, east, north)].map((x) => x.toFixed(5));
  const distance = (length(earth) * astronomy.KM_PER_AU).toFixed(1);
  lines.push([new Date(time).toISOString().slice(0, 19) + 'Z', ...values, distance].join(','));
}
console.log(lines.join('\n'));
