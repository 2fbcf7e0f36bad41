// The storage: values by hand, a walk in small steps as a second way, and its bounds against samples of
// stations in which everything is uncertain.

#include "constraints/power/storage.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "constraints/power/power.h"

namespace cairn {
namespace {

Instant at(double seconds) { return Instant{} + *duration_from_seconds(seconds); }
EventTime around(double seconds, double slack) {
  return {at(seconds), at(seconds - slack), at(seconds + slack)};
}

Storage by_hand() {
  Storage storage;
  storage.capacity = {1000, 950, 1050};
  storage.initial = {500, 480, 520};
  storage.floor = 200;
  storage.charge_efficiency = {0.9, 0.85, 0.95};
  storage.discharge_efficiency = {0.8, 0.75, 0.85};
  storage.charge_limit = {5, 4, 6};
  storage.discharge_limit = {10, 9, 11};
  return storage;
}

TEST(Storage, ChargesUpToItsLimitUntilItIsFull) {
  StorageRun run(by_hand(), Bound::Nominal, 500);
  static_cast<void>(run.advance(2, 2, 100));
  EXPECT_DOUBLE_EQ(run.charge(), 500 + 0.9 * 2 * 100);
  static_cast<void>(run.advance(50, 50, 50));  // five at most
  EXPECT_DOUBLE_EQ(run.charge(), 680 + 0.9 * 5 * 50);
  EXPECT_NEAR(run.seconds_to_full(5), 95 / 4.5, 1e-9);
  const auto pieces = run.advance(5, 5, 100);
  ASSERT_EQ(pieces.size(), 2U);
  EXPECT_NEAR(pieces[0].end, 95 / 4.5, 1e-9);
  EXPECT_TRUE(run.full());
  EXPECT_EQ(run.charge(), 1000);
  EXPECT_EQ(run.taken_in(5), 0);
  EXPECT_TRUE(std::isinf(run.seconds_to_full(5))) << "or a solver would go on in the least of steps";
}

TEST(Storage, DischargesUpToItsLimitThroughItsFloor) {
  StorageRun run(by_hand(), Bound::Nominal, 500);
  const auto pieces = run.advance(-4, -4, 100);  // 5 W from within: 300 J last a minute
  ASSERT_EQ(pieces.size(), 2U);
  EXPECT_NEAR(pieces[0].end, 60, 1e-9);
  EXPECT_TRUE(pieces[0].available);
  EXPECT_FALSE(pieces[1].available);
  EXPECT_DOUBLE_EQ(run.charge(), 0);
  EXPECT_EQ(run.given(-40), 10);
  static_cast<void>(run.advance(-40, -40, 10));
  EXPECT_DOUBLE_EQ(run.charge(), -10 * 10 / 0.8) << "it goes on, and says what is missing";
}

// From 6 W down to -12 W in 180 s: 10 s at the limit, 50 s falling to zero, 100 s rising to the discharge
// limit, 20 s at that.
TEST(Storage, IsExactWhereTheSurplusPassesItsLimits) {
  StorageRun run(by_hand(), Bound::Nominal, 500);
  static_cast<void>(run.advance(6, -12, 180));
  EXPECT_NEAR(run.charge(), 500 + 0.9 * (5 * 10 + 0.5 * 5 * 50) - (0.5 * 10 * 100 + 10 * 20) / 0.8, 1e-9);
}

TEST(Storage, TheLeastTakesEveryBoundAgainstIt) {
  StorageRun run(by_hand(), Bound::Low, 480, 0.001);
  static_cast<void>(run.advance(9, 9, 100));
  EXPECT_NEAR(run.charge(), 480 + 0.999 * 0.85 * 4 * 100, 1e-9);
  static_cast<void>(run.advance(-30, -30, 10));
  EXPECT_NEAR(run.charge(), 480 + 0.999 * 0.85 * 4 * 100 - 1.001 * 11 * 10 / 0.75, 1e-9);
  static_cast<void>(run.advance(9, 9, 1000));
  EXPECT_EQ(run.charge(), 950);
}

// A second way: a thousand small steps.
TEST(Storage, AgreesWithSmallSteps) {
  std::mt19937 random(9);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 200; ++round) {
    const Storage storage = by_hand();
    double charge = uniform(0, 1000);
    StorageRun run(storage, Bound::Nominal, charge);
    for (int step = 0; step < 6; ++step) {
      const double first = uniform(-15, 10);
      const double last = uniform(-15, 10);
      const double seconds = uniform(1, 200);
      constexpr int parts = 4000;
      double fullest = charge;
      double emptiest = charge;
      for (int part = 0; part < parts; ++part) {
        const double surplus = first + (last - first) * (part + 0.5) / parts;
        const double rate = surplus > 0 ? 0.9 * std::min(surplus, 5.0) : -std::min(-surplus, 10.0) / 0.8;
        charge = std::min(charge + rate * seconds / parts, 1000.0);
        fullest = std::max(fullest, charge);
        emptiest = std::min(emptiest, charge);
      }
      double most = -1e9;
      double least = 1e9;
      double time = 0;
      for (const StorageRun::Piece& piece : run.advance(first, last, seconds)) {
        EXPECT_EQ(piece.begin, time);
        time = piece.end;
        most = std::max({most, piece.charge_begin, piece.charge_end});
        least = std::min({least, piece.charge_begin, piece.charge_end});
        EXPECT_EQ(piece.available, piece.charge_begin + piece.charge_end > 400 &&
                                       std::min(piece.charge_begin, piece.charge_end) >= 200);
      }
      EXPECT_EQ(time, seconds);
      EXPECT_NEAR(run.charge(), charge, 0.05);
      EXPECT_NEAR(most, fullest, 0.6);
      EXPECT_NEAR(least, emptiest, 0.6);
      charge = run.charge();
    }
  }
}

// Left alone it loses its share a day; fed, it comes to where it loses what it is given.
TEST(Storage, LosesByItselfWhatItsShareSays) {
  Storage storage = by_hand();
  storage.self_discharge = {0.2, 0.1, 0.3};
  constexpr double day = 86400;
  StorageRun idle(storage, Bound::Nominal, 900);
  static_cast<void>(idle.advance(0, 0, day));
  EXPECT_NEAR(idle.charge(), 900 * 0.8, 1e-9);
  static_cast<void>(idle.advance(0, 0, 1.5 * day));
  EXPECT_NEAR(idle.charge(), 900 * std::pow(0.8, 2.5), 1e-9);
  EXPECT_NEAR(idle.lost(), idle.charge() * -std::log(0.8) / day, 1e-12);
  StorageRun least(storage, Bound::Low, 900, 0.001);
  static_cast<void>(least.advance(0, 0, day));
  EXPECT_NEAR(least.charge(), 900 * std::pow(0.7, 1.001), 1e-9);
  StorageRun most(storage, Bound::High, 900, 0.001);
  static_cast<void>(most.advance(0, 0, day));
  EXPECT_NEAR(most.charge(), 900 * std::pow(0.9, 0.999), 1e-9);
  StorageRun fed(storage, Bound::Nominal, 100);
  static_cast<void>(fed.advance(0.001, 0.001, 200 * day));
  EXPECT_NEAR(fed.charge(), 0.9 * 0.001 * day / -std::log(0.8), 1e-6);
  EXPECT_NEAR(fed.seconds_to_full(5), (1000 - fed.charge()) / (0.9 * 5 - fed.lost()), 1e-6);
  // What is missing is not lost a second time.
  StorageRun empty(storage, Bound::Nominal, 100);
  static_cast<void>(empty.advance(-5, -5, day));
  EXPECT_LT(empty.charge(), -5 / 0.8 * day + 100);
  EXPECT_GT(empty.charge(), -5 / 0.8 * day + 99);
}

// A full one stays full while it is given what it loses, and takes in no more than that.
TEST(Storage, AFullOneTakesInWhatItLoses) {
  Storage storage = by_hand();
  storage.self_discharge = Bounded::exactly(0.99);
  StorageRun run(storage, Bound::Nominal, 1000);
  const double kept = 1000 * -std::log(0.01) / 86400;
  EXPECT_NEAR(run.taken_in(5), kept / 0.9, 1e-12);
  static_cast<void>(run.advance(2, 2, 5000));
  EXPECT_EQ(run.charge(), 1000);
  const auto pieces = run.advance(2, 0, 1000);
  ASSERT_EQ(pieces.size(), 2U);
  EXPECT_NEAR(pieces[0].end, 1000 * (1 - kept / 0.9 / 2), 1e-6);
  EXPECT_EQ(pieces[0].charge_end, 1000);
  EXPECT_LT(run.charge(), 1000);
}

// Charge, rate and loss of every sign and size, in twenty thousand small steps.
TEST(Storage, AgreesWithSmallStepsWhereItLosesMuch) {
  std::mt19937 random(19);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  Storage storage = by_hand();
  storage.self_discharge = Bounded::exactly(0.999);
  const double loss = -std::log(0.001) / 86400;
  std::size_t turned = 0;
  for (int round = 0; round < 200; ++round) {
    double charge = uniform(-100, 1000);
    StorageRun run(storage, Bound::Nominal, charge);
    const double first = uniform(-0.3, 0.3);
    const double last = uniform(-0.3, 0.3);
    const double seconds = uniform(10, 40'000);
    constexpr int parts = 20'000;
    double fullest = charge;
    double emptiest = charge;
    for (int part = 0; part < parts; ++part) {
      const double surplus = first + (last - first) * (part + 0.5) / parts;
      const double rate = surplus > 0 ? 0.9 * surplus : surplus / 0.8;
      const double half = charge + 0.5 * (rate - loss * std::max(charge, 0.0)) * seconds / parts;
      charge = std::min(charge + (rate - loss * std::max(half, 0.0)) * seconds / parts, 1000.0);
      fullest = std::max(fullest, charge);
      emptiest = std::min(emptiest, charge);
    }
    double most = -1e9;
    double least = 1e9;
    double time = 0;
    for (const StorageRun::Piece& piece : run.advance(first, last, seconds)) {
      EXPECT_EQ(piece.begin, time);
      time = piece.end;
      most = std::max({most, piece.charge_begin, piece.charge_end});
      least = std::min({least, piece.charge_begin, piece.charge_end});
    }
    EXPECT_EQ(time, seconds);
    EXPECT_NEAR(run.charge(), charge, 0.02) << round;
    EXPECT_NEAR(most, fullest, 0.05) << round;
    EXPECT_NEAR(least, emptiest, 0.05) << round;
    turned += fullest > run.charge() + 1 && emptiest < run.charge() - 1 ? 1U : 0U;
  }
  EXPECT_GT(turned, 5U);
}

Station with_storage() {
  Station station;
  IsotopeSource source;
  source.power = Bounded::exactly(20);
  source.half_life = 1e6 * seconds_per_year;
  station.power.sources.push_back(source);
  station.power.reserve_floor = 2;
  station.power.shed_order = {station.units.add({"box", "", {}, no_origin})};
  Storage storage;
  storage.capacity = Bounded::exactly(3000);
  storage.initial = Bounded::exactly(3000);
  storage.floor = 1000;
  storage.discharge_efficiency = Bounded::exactly(0.8);
  storage.charge_limit = Bounded::exactly(10);
  storage.discharge_limit = Bounded::exactly(30);
  station.power.storage = storage;
  return station;
}

PowerResult carried(const Station& station, double load, double seconds) {
  Timeline timeline;
  timeline.end = at(1000);
  timeline.draws.push_back(
      {around(100, 0), around(100 + seconds, 0), Bounded::exactly(load), {}, UnitId{0}, {}, {}});
  const std::vector<HeaterInterval> none;
  return check_power(station, timeline, none, &none);
}

TEST(StoragePower, APeakAboveTheSourceIsCarried) {
  const PowerResult result = carried(with_storage(), 36, 90);
  EXPECT_EQ(result.finding.verdict, Verdict::Holds);
  EXPECT_NEAR(result.finding.value, 20 + 30 - 36, 1e-6);
  EXPECT_NEAR(result.finding.guaranteed_value, 20 + 30 - 36, 1e-6);
  ASSERT_TRUE(result.storage);
  EXPECT_EQ(result.storage->verdict, Verdict::Holds);
  EXPECT_NEAR(result.storage->value, 3000 - 90 * 16 / 0.8, 1e-6);
  EXPECT_EQ(result.storage->time, at(190));
  EXPECT_NEAR(result.storage->margin, 200, 1e-6);
  EXPECT_NEAR(result.end_charge->nominal, 3000, 1e-6) << "180 s at 10 W fill it again";
}

TEST(StoragePower, ALimitThatIsTooSmallFailsTheReserve) {
  const PowerResult result = carried(with_storage(), 49, 10);
  EXPECT_EQ(result.finding.verdict, Verdict::Fails) << "one watt is left, two are asked for";
  EXPECT_NEAR(result.finding.value, 1, 1e-6);
  EXPECT_EQ(result.storage->verdict, Verdict::Holds);
  EXPECT_TRUE(result.shed.empty());
}

// 2000 J above the floor give 16 W for 100 s, less the loss: after that the bus sags and the unit is shed.
TEST(StoragePower, AnEmptyStorageFailsBothAndSheds) {
  const PowerResult result = carried(with_storage(), 36, 150);
  EXPECT_EQ(result.finding.verdict, Verdict::Fails);
  EXPECT_NEAR(result.finding.value, -16, 1e-6);
  EXPECT_NEAR((result.finding.interval_begin - at(200)).seconds(), 0, 1e-3);
  ASSERT_EQ(result.shed.size(), 1U);
  EXPECT_NEAR((result.shed[0].time - at(200)).seconds(), 0, 1e-3);
  EXPECT_EQ(result.storage->verdict, Verdict::Fails);
  EXPECT_NEAR(result.storage->margin, -50 * 16 / 0.8, 1e-3);
  EXPECT_NEAR((result.storage->interval_begin - at(200)).seconds(), 0, 1e-3);
}

TEST(StoragePower, IsUnprovenWhereOnlyTheNominalChargeHolds) {
  Station station = with_storage();
  station.power.storage->discharge_efficiency = {0.8, 0.6, 0.9};
  const PowerResult result = carried(station, 36, 90);
  EXPECT_EQ(result.storage->verdict, Verdict::Unproven);
  EXPECT_NEAR(result.storage->guaranteed_margin, 2000 - 90 * 16 / 0.6, 1e-3);
  EXPECT_EQ(result.finding.verdict, Verdict::Unproven) << "what is at its floor gives nothing";
  EXPECT_NEAR(result.end_charge->least, 3000 - 90 * 16 / 0.6 + 810 * 10, 6000);
}

double line(const std::vector<ChargePoint>& points, Instant time) {
  std::size_t k = 0;
  while (k + 2 < points.size() && points[k + 1].time < time) ++k;
  const double span = (points[k + 1].time - points[k].time).seconds();
  const double part = span > 0 ? (time - points[k].time).seconds() / span : 1;
  return points[k].charge + part * (points[k + 1].charge - points[k].charge);
}

// Stations without bounds, each somewhere within those of the first: none holds less, none has less to spare.
TEST(StoragePower, NoSampleGoesBelowTheGuarantee) {
  std::mt19937 random(21);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  const auto uncertain = [&](double value, double ratio) {
    return Bounded{value, value * (1 - ratio * uniform(0, 1)), value * (1 + ratio * uniform(0, 1))};
  };
  const auto inside = [&](const Bounded& bounds) {
    const auto kind = random() % 3;
    return Bounded::exactly(kind == 0   ? bounds.low
                            : kind == 1 ? bounds.high
                                        : uniform(bounds.low, bounds.high));
  };
  double closest = 1e9;
  std::size_t below_floor = 0;
  for (int round = 0; round < 60; ++round) {
    Station station;
    station.units.add({"box", "", {}, no_origin});
    IsotopeSource source;
    source.power = uncertain(30, 0.05);
    source.half_life = 87.7 * seconds_per_year;
    source.ageing_per_year = {0.01, 0.005, 0.02};
    station.power.sources.push_back(source);
    station.power.converter_points = {{5, {0.8, 0.78, 0.82}}, {40, {0.92, 0.91, 0.93}}};
    Storage& storage = station.power.storage.emplace();
    storage.capacity = uncertain(8000, 0.1);
    storage.initial = uncertain(6000, 0.1);
    storage.floor = 2000;
    storage.charge_efficiency = uncertain(0.9, 0.05);
    storage.discharge_efficiency = uncertain(0.85, 0.05);
    storage.charge_limit = uncertain(8, 0.1);
    storage.discharge_limit = uncertain(25, 0.1);
    // As much in an hour as others lose in years.
    if (round % 2 == 1) storage.self_discharge = uncertain(0.9, 0.05);
    Timeline timeline;
    timeline.end = at(4000);
    for (int k = 0; k < 12; ++k) {
      const double begin = uniform(0, 3500);
      const double slack = uniform(0, 10);
      timeline.draws.push_back({around(begin, slack),
                                around(begin + uniform(60, 450), slack),
                                uncertain(uniform(2, 25), 0.1),
                                {},
                                UnitId{0},
                                {},
                                {}});
    }
    std::stable_sort(timeline.draws.begin(), timeline.draws.end(),
                     [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
    const std::vector<HeaterInterval> none;
    const PowerResult bounds = check_power(station, timeline, none, &none);
    ASSERT_GT(bounds.least_charge.size(), 2U);
    below_floor += bounds.storage->guaranteed_margin < 0 ? 1U : 0U;
    for (int n = 0; n < 40; ++n) {
      Station sample = station;
      sample.power.sources[0].power = inside(source.power);
      sample.power.sources[0].ageing_per_year = inside(source.ageing_per_year);
      for (EfficiencyPoint& point : sample.power.converter_points)
        point.efficiency = inside(point.efficiency);
      Storage& one = *sample.power.storage;
      for (Bounded* value : {&one.capacity, &one.initial, &one.charge_efficiency, &one.discharge_efficiency,
                             &one.charge_limit, &one.discharge_limit, &one.self_discharge}) {
        *value = inside(*value);
      }
      Timeline events = timeline;
      for (Draw& draw : events.draws) {
        draw.load = inside(draw.load);
        for (EventTime* time : {&draw.begin, &draw.end}) {
          const double slack = (time->latest - time->nominal).seconds();
          const Instant chosen = time->nominal + *duration_from_seconds(inside({0, -slack, slack}).nominal);
          *time = {chosen, chosen, chosen};
        }
      }
      std::stable_sort(events.draws.begin(), events.draws.end(),
                       [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
      const PowerResult found = check_power(sample, events, none);
      for (const ChargePoint& point : found.charge) {
        const double above = point.charge - line(bounds.least_charge, point.time);
        closest = std::min(closest, above);
        ASSERT_GE(above, -0.05) << "round " << round;
      }
      ASSERT_GE(found.finding.margin, bounds.finding.guaranteed_margin - 1e-9) << "round " << round;
      ASSERT_GE(found.storage->margin, bounds.storage->guaranteed_margin - 1e-9) << "round " << round;
    }
  }
  EXPECT_LT(closest, 50) << "bounds so wide that they say nothing";
  EXPECT_GT(below_floor, 5U);
  EXPECT_LT(below_floor, 60U);
}

}  // namespace
}  // namespace cairn
