// Things by situation, against a map that copies every key.
#include "solve/by_state.h"

#include <map>
#include <random>

#include <doctest/doctest.h>

using loomproof::ByState;
using loomproof::Charge;
using loomproof::Situation;

namespace {

struct Thing {
  Situation situation;
  int number = 0;
};

std::vector<Thing> drawn(std::size_t count) {
  std::mt19937 rng(7);  // the same things every time
  std::uniform_int_distribution<int> position(-1, 2), charge(0, 2);
  std::vector<Thing> out;
  for (std::size_t i = 0; i < count; ++i) {
    Thing thing;
    for (int p = 0; p < 3; ++p) thing.situation.positions.push_back(static_cast<std::int8_t>(position(rng)));
    thing.situation.charge = static_cast<Charge>(charge(rng));
    thing.number = static_cast<int>(i);
    out.push_back(std::move(thing));
  }
  return out;
}

}  // namespace

TEST_CASE("by state: each state once, the first or the last thing of it, in the order of charge and positions") {
  const std::vector<Thing> things = drawn(150);  // of 192 possible states, so that some are twice and some missing
  for (const bool later_wins : {false, true}) {
    ByState<Thing> found(later_wins);
    std::map<std::pair<Charge, std::vector<std::int8_t>>, int> expected;
    for (const Thing& t : things) {
      found.add(t.situation, t);
      const std::pair key(t.situation.charge, t.situation.positions);
      if (later_wins) {
        expected[key] = t.number;
      } else {
        expected.emplace(key, t.number);
      }
    }
    found.close();
    REQUIRE(expected.size() < things.size());
    auto next = expected.begin();
    for (const auto& [situation, thing] : found) {
      REQUIRE(next != expected.end());
      CHECK(situation == &thing->situation);
      CHECK(thing->number == next++->second);
    }
    CHECK(next == expected.end());
    std::size_t missing = 0;
    for (int charge = 0; charge < 3; ++charge) {
      for (int code = 0; code < 64; ++code) {
        const std::vector<std::int8_t> positions{static_cast<std::int8_t>(code / 16 - 1),
                                                 static_cast<std::int8_t>(code / 4 % 4 - 1),
                                                 static_cast<std::int8_t>(code % 4 - 1)};
        const auto known = expected.find({static_cast<Charge>(charge), positions});
        const Thing* const at = found.at(static_cast<Charge>(charge), positions);
        CHECK((at != nullptr) == (known != expected.end()));
        if (at != nullptr) CHECK(at->number == known->second);
        missing += at == nullptr ? 1 : 0;
      }
    }
    CHECK(missing > 0);
  }
  const ByState<Thing> none;
  CHECK(none.at(Charge::full, {0, 0, 0}) == nullptr);
}
