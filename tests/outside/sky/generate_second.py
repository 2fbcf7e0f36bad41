#!/usr/bin/env python3
"""Sun and Earth over one site on the Moon, and the Moon over one antenna on the Earth, for the whole of 2031, by PyEphem
(libastro) and, for how the Moon is turned, by the libration of Meeus.

usage: generate_second.py          (writes second_2031.csv and second_dish_2031.csv; the committed files came from
                                    PyEphem 4.1.4 of Debian 12)

A second way that shares nothing with Cairn, and nothing with generate.mjs: places of Moon and Sun are libastro's, optical and
physical libration and the position angle follow Meeus, Astronomical Algorithms, 2nd edition, chapter 53 (after D. H. Eckhardt,
"Theory of the libration of the Moon", Moon and the Planets 25, 1981). Geometric directions up to the light time of the Moon.
"""
import datetime
import math

import ephem

DELTA_T = 69.184  # s, TT - UTC with 37 leap seconds
AU = 149597870.7  # km
RADIUS = 1737.4  # km
LATITUDE, LONGITUDE = math.radians(-20), math.radians(30)
INCLINATION = math.radians(1.54242)  # of the Moon's equator on the ecliptic, IAU


def sind(x):
    return math.sin(math.radians(x))


def cosd(x):
    return math.cos(math.radians(x))


def libration(t, ecliptic_longitude, ecliptic_latitude):
    """Selenographic longitude and latitude (radians) of what is seen from the Moon's centre in the opposite of a direction
    with this geocentric ecliptic longitude and latitude of date: chapter 53, with the physical libration."""
    d = 297.8501921 + 445267.1114034 * t - 0.0018819 * t**2 + t**3 / 545868 - t**4 / 113065000
    m = 357.5291092 + 35999.0502909 * t - 0.0001536 * t**2 + t**3 / 24490000
    mp = 134.9633964 + 477198.8675055 * t + 0.0087414 * t**2 + t**3 / 69699 - t**4 / 14712000
    f = 93.2720950 + 483202.0175233 * t - 0.0036539 * t**2 - t**3 / 3526000 + t**4 / 863310000
    node = 125.0445479 - 1934.1362891 * t + 0.0020754 * t**2 + t**3 / 467441 - t**4 / 60616000
    e = 1 - 0.002516 * t - 0.0000074 * t**2
    k1, k2 = 119.75 + 131.849 * t, 72.56 + 20.186 * t
    w = ecliptic_longitude - math.radians(node)
    a = math.atan2(math.sin(w) * math.cos(ecliptic_latitude) * math.cos(INCLINATION)
                   - math.sin(ecliptic_latitude) * math.sin(INCLINATION),
                   math.cos(w) * math.cos(ecliptic_latitude))
    lon = math.remainder(a - math.radians(f), 2 * math.pi)
    lat = math.asin(-math.sin(w) * math.cos(ecliptic_latitude) * math.sin(INCLINATION)
                    - math.sin(ecliptic_latitude) * math.cos(INCLINATION))
    rho = (-0.02752 * cosd(mp) - 0.02245 * sind(f) + 0.00684 * cosd(mp - 2 * f) - 0.00293 * cosd(2 * f)
           - 0.00085 * cosd(2 * f - 2 * d) - 0.00054 * cosd(mp - 2 * d) - 0.00020 * sind(mp + f)
           - 0.00020 * cosd(mp + 2 * f) - 0.00020 * cosd(mp - f) + 0.00014 * cosd(mp + 2 * f - 2 * d))
    sigma = (-0.02816 * sind(mp) + 0.02244 * cosd(f) - 0.00682 * sind(mp - 2 * f) - 0.00279 * sind(2 * f)
             - 0.00083 * sind(2 * f - 2 * d) + 0.00069 * sind(mp - 2 * d) + 0.00040 * cosd(mp + f) - 0.00025 * sind(2 * mp)
             - 0.00023 * sind(mp + 2 * f) + 0.00020 * cosd(mp - f) + 0.00019 * sind(mp - f)
             + 0.00013 * sind(mp + 2 * f - 2 * d) - 0.00010 * cosd(mp - 3 * f))
    tau = (0.02520 * e * sind(m) + 0.00473 * sind(2 * mp - 2 * f) - 0.00467 * sind(mp) + 0.00396 * sind(k1)
           + 0.00276 * sind(2 * mp - 2 * d) + 0.00196 * sind(node) - 0.00183 * cosd(mp - f) + 0.00115 * sind(mp - 2 * d)
           - 0.00096 * sind(mp - d) + 0.00046 * sind(2 * f - 2 * d) - 0.00039 * sind(mp - f) - 0.00032 * sind(mp - m - d)
           + 0.00027 * sind(2 * mp - m - 2 * d) + 0.00023 * sind(k2) - 0.00014 * sind(2 * d) + 0.00014 * cosd(2 * mp - 2 * f)
           - 0.00012 * sind(mp - 2 * f) - 0.00012 * sind(2 * mp) + 0.00011 * sind(2 * mp - 2 * m - 2 * d))
    lon2 = -tau + (rho * math.cos(a) + sigma * math.sin(a)) * math.tan(lat)
    lat2 = sigma * math.cos(a) - rho * math.sin(a)
    return lon + math.radians(lon2), lat + math.radians(lat2)


def fixed(lon, lat, distance):
    """A vector from the Moon's centre in its own frame, km."""
    return [distance * math.cos(lat) * math.cos(lon), distance * math.cos(lat) * math.sin(lon), distance * math.sin(lat)]


UP = fixed(LONGITUDE, LATITUDE, 1)
EAST = [-math.sin(LONGITUDE), math.cos(LONGITUDE), 0]
NORTH = [-math.sin(LATITUDE) * math.cos(LONGITUDE), -math.sin(LATITUDE) * math.sin(LONGITUDE), math.cos(LATITUDE)]


def over_site(lon, lat, distance):
    v = [x - RADIUS * u for x, u in zip(fixed(lon, lat, distance), UP)]
    up, east, north = (sum(a * b for a, b in zip(v, axis)) for axis in (UP, EAST, NORTH))
    return (math.degrees(math.atan2(up, math.hypot(east, north))), math.degrees(math.atan2(east, north)) % 360,
            math.sqrt(up * up + east * east + north * north))


def ecliptic_of_date(body, date):
    """Geometric up to light time, without nutation: what Meeus's formulas take (his lambda less the nutation)."""
    place = ephem.Ecliptic(ephem.Equatorial(body.a_ra, body.a_dec, epoch=ephem.J2000), epoch=date)
    return float(place.lon), float(place.lat), body.earth_distance * AU


def vector(lon, lat, distance):
    return [distance * math.cos(lat) * math.cos(lon), distance * math.cos(lat) * math.sin(lon), distance * math.sin(lat)]


def main():
    dish = ephem.Observer()
    dish.lat, dish.lon, dish.elevation, dish.pressure = math.radians(40), math.radians(-4), 700, 0
    lines = ["utc,sun_elevation_deg,sun_azimuth_deg,earth_elevation_deg,earth_azimuth_deg,earth_distance_km"]
    begin = datetime.datetime(2031, 1, 1)
    for step in range(0, 365 * 24 + 1, 12):
        time = begin + datetime.timedelta(hours=step)
        # libastro extrapolates TT - UT on its own: the date is moved so that it computes at the right TT.
        date = ephem.Date(time)
        date = ephem.Date(date + (DELTA_T - ephem.delta_t(date)) / 86400)
        t = (float(date) + 2415020 + ephem.delta_t(date) / 86400 - 2451545) / 36525
        moon = ephem.Moon()
        moon.compute(date, epoch=ephem.J2000)
        sun = ephem.Sun()
        sun.compute(date, epoch=ephem.J2000)
        lon, lat, distance = ecliptic_of_date(moon, date)
        to_moon = vector(lon, lat, distance)
        # The astrometric Sun is where it was 499 s ago, seen from where the Earth is: the Earth's own motion since then is
        # not in it, so that it is the geometric Sun but for 0.01 arcseconds.
        to_sun = vector(*ecliptic_of_date(sun, date))
        from_sun = [m - s for m, s in zip(to_moon, to_sun)]
        sun_distance = math.sqrt(sum(x * x for x in from_sun))
        earth = over_site(*libration(t, lon, lat), distance)
        other = libration(t, math.atan2(from_sun[1], from_sun[0]), math.asin(from_sun[2] / sun_distance))
        seen = over_site(*other, sun_distance)
        lines.append(f"{time:%Y-%m-%dT%H:%M:%SZ},{seen[0]:.5f},{seen[1]:.5f},{earth[0]:.5f},{earth[1]:.5f},{earth[2]:.1f}")
    with open("second_2031.csv", "w", encoding="ascii") as file:
        file.write("\n".join(lines) + "\n")
    lines = ["utc,moon_elevation_deg,moon_azimuth_deg"]
    for step in range(0, 365 * 24 + 1, 7):
        time = begin + datetime.timedelta(hours=step)
        dish.date = ephem.Date(time)
        moon = ephem.Moon(dish)
        lines.append(f"{time:%Y-%m-%dT%H:%M:%SZ},{math.degrees(moon.alt):.5f},{math.degrees(moon.az):.5f}")
    with open("second_dish_2031.csv", "w", encoding="ascii") as file:
        file.write("\n".join(lines) + "\n")


main()
