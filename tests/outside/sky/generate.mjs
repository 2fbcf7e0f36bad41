// Sun and Earth over one site on the Moon, and one on Mars, and the Moon over one antenna on the Earth, for the whole of
// 2031, by astronomy-engine.
//
//   npm install && npm run generate        (writes sky_2031.csv, mars_2031.csv and dish_2031.csv; the committed files came
//                                           from version 2.1.19)
//
// Its models are its own: a truncated VSOP87 for the Earth, a Moon after Brown's theory, and the IAU rotation of
// the Moon as it codes it. Geometric directions: no light time, no aberration. It takes dates as UT and
// extrapolates the difference to dynamical time, which is why that is set to 37 leap seconds + 32.184 s here.

import { writeFileSync } from 'node:fs';

import * as astronomy from 'astronomy-engine';

astronomy.SetDeltaTFunction(() => 69.184);

const radians = (degrees) => degrees * Math.PI / 180;
const degrees = (radians) => radians * 180 / Math.PI;
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a, b) => a.map((x, i) => x - b[i]);
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const length = (a) => Math.sqrt(dot(a, a));
const unit = (a) => a.map((x) => x / length(a));
const components = (v) => [v.x, v.y, v.z];

// A direction fixed to the body, in the equatorial frame of J2000.
function fromFixed(fixed, axis) {
  const pole = components(axis.north);
  // The node of its equator on the equator of J2000; the prime meridian lies `spin` degrees beyond it.
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

const heading = 'utc,sun_elevation_deg,sun_azimuth_deg,earth_elevation_deg,earth_azimuth_deg,earth_distance_km';

// Every `hours` of the year; `toEarth` gives the vector from the body's centre, in AU.
function year(body, latitude, longitude, radius, hours, toEarth) {
  const lines = [heading];
  for (let time = Date.UTC(2031, 0, 1); time <= Date.UTC(2032, 0, 1); time += hours * 3600 * 1000) {
    const date = astronomy.MakeTime(new Date(time));
    const axis = astronomy.RotationAxis(body, date);
    const lat = radians(latitude);
    const lon = radians(longitude);
    const up = fromFixed([Math.cos(lat) * Math.cos(lon), Math.cos(lat) * Math.sin(lon), Math.sin(lat)], axis);
    const east = fromFixed([-Math.sin(lon), Math.cos(lon), 0], axis);
    const north = cross(up, east);
    const site = up.map((x) => x * radius / astronomy.KM_PER_AU);
    const earth = minus(toEarth(date), site);
    const sun = minus(components(astronomy.HelioVector(body, date)).map((x) => -x), site);
    const values = [...seen(sun, up, east, north), ...seen(earth, up, east, north)].map((x) => x.toFixed(5));
    const distance = (length(earth) * astronomy.KM_PER_AU).toFixed(1);
    lines.push([new Date(time).toISOString().slice(0, 19) + 'Z', ...values, distance].join(','));
  }
  return lines.join('\n') + '\n';
}

writeFileSync('sky_2031.csv', year(astronomy.Body.Moon, -20, 30, 1737.4, 12,
  (date) => components(astronomy.GeoVector(astronomy.Body.Moon, date, false)).map((x) => -x)));
writeFileSync('mars_2031.csv', year(astronomy.Body.Mars, 10, 50, 3389.5, 25,
  (date) => minus(components(astronomy.HelioVector(astronomy.Body.Earth, date)),
                  components(astronomy.HelioVector(astronomy.Body.Mars, date)))));

// The Moon's centre over 40 N, 4 W, 700 m, without refraction.
const dish = new astronomy.Observer(40, -4, 700);
const lines = ['utc,moon_elevation_deg,moon_azimuth_deg'];
for (let time = Date.UTC(2031, 0, 1); time <= Date.UTC(2032, 0, 1); time += 7 * 3600 * 1000) {
  const date = astronomy.MakeTime(new Date(time));
  const place = astronomy.Equator(astronomy.Body.Moon, date, dish, true, true);
  const over = astronomy.Horizon(date, dish, place.ra, place.dec);
  lines.push([new Date(time).toISOString().slice(0, 19) + 'Z', over.altitude.toFixed(5), over.azimuth.toFixed(5)].join(','));
}
writeFileSync('dish_2031.csv', lines.join('\n') + '\n');
