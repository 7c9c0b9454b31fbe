// What `start` writes: sized from usual stock it passes the newest rules, over chemistries, cells, currents and lights.
#include "size/first_loom.h"

#include "size/generated.h"

using namespace sizes;
using loomproof::FirstLoom;
using loomproof::SizeResult;

namespace {

FirstLoom known(const char* chemistry, int series, double battery_a) {
  FirstLoom wish;
  wish.chemistry = chemistry;
  wish.series = series;
  wish.parallel = 2;
  wish.battery_a = battery_a;
  wish.phase_a = 2.5 * battery_a;
  wish.capacitance_uf = 2200;
  wish.bleed_kohm = 10;
  wish.cell_mohm = 1.5;
  wish.cell_ah = 40;
  wish.continuous_a = 1.3 * battery_a;
  wish.charge_a = 40;
  return wish;
}

// Each axis at each of its values, not each pair of them: a trial is a whole check.
std::vector<FirstLoom> grid() {
  std::vector<FirstLoom> out;
  out.push_back(known("lfp", 13, 40));
  out.push_back(known("nmc", 13, 80));
  out.back().filament = true;
  out.push_back(known("lfp", 16, 200));
  out.back().regen_a = 60;  // more than the pack takes
  out.push_back(known("lto", 20, 120));
  out.back().headlamp = out.back().tail = out.back().indicators = out.back().horn = false;
  out.push_back(known("nca", 20, 150));
  out.back().bms = false;
  out.push_back(known("nmc", 24, 300));
  out.back().to_front_m = 3;
  out.back().to_tail_m = 3;
  out.push_back(known("lfp", 28, 60));
  out.back().charger = false;
  out.back().cell_ah = 8;
  out.push_back(known("nmc", 28, 100));
  out.back().display = out.back().brake_lamp = false;
  return out;
}

}  // namespace

TEST_CASE("what start writes holds once it is sized") {
  const std::vector<FirstLoom> wishes = grid();
  for (std::size_t i = 0; i < wishes.size(); i += every(8)) {
    const FirstLoom& wish = wishes[i];
    CAPTURE(wish.chemistry);
    CAPTURE(wish.series);
    REQUIRE(loomproof::trouble_with(wish).empty());
    const std::string text = loomproof::first_loom(wish);
    CHECK(text.find("UNKNOWN") == std::string::npos);
    const SizeResult result = loomproof::size_loom(request_for(text));
    std::string facts;
    for (const auto& fact : result.facts) facts += fact.text + "\n";
    CAPTURE(facts);
    REQUIRE(result.outcome == SizeResult::Outcome::found);
    const std::string broken = broken_in(result.text);
    CHECK_MESSAGE(broken.empty(), broken);
    // Lamps, brakes and no brake lamp: whether that is lawful is the builder's to say; so is what watches the cells of a
    // pack without battery management.
    CHECK(result.undecided == (wish.brake_lamp ? 0 : 1) + (wish.bms ? 0 : 1));
  }
}

TEST_CASE("what is not known is left out, marked, and undecided; nothing else is") {
  FirstLoom wish = known("lfp", 16, 100);
  wish.capacitance_uf = wish.bleed_kohm = wish.cell_mohm = wish.cell_ah = wish.continuous_a = wish.charge_a = std::nullopt;
  const std::string text = loomproof::first_loom(wish);
  std::size_t marks = 0;
  for (std::size_t at = text.find("# UNKNOWN"); at != std::string::npos; at = text.find("# UNKNOWN", at + 1)) ++marks;
  CHECK(marks == 6);
  const SizeResult result = loomproof::size_loom(request_for(text));
  REQUIRE(result.outcome == SizeResult::Outcome::found);
  CHECK(broken_in(result.text).empty());
  CHECK(result.undecided > 0);
  const auto read = loomproof::read_loom(result.text, "first.yaml");
  REQUIRE(read.loom);
  const loomproof::Solved solved = loomproof::solve(*read.loom);
  for (const loomproof::Obligation& owed : loomproof::judge(solved).obligations) {
    if (owed.verdict != loomproof::Verdict::undecided) continue;
    // The key that it asks for stands in a mark.
    const std::size_t from = owed.mend.find('`');
    const std::string key = owed.mend.substr(from + 1, owed.mend.find(':', from) - from - 1);
    CAPTURE(owed.what);
    CAPTURE(owed.mend);
    CHECK(text.find("Write `" + key + ":") != std::string::npos);
  }
}

TEST_CASE("numbers that make no vehicle are refused") {
  FirstLoom wish;
  wish.chemistry = "lead";
  CHECK_FALSE(loomproof::trouble_with(wish).empty());
  wish = {};
  wish.series = 60;
  CHECK_FALSE(loomproof::trouble_with(wish).empty());
  wish = {};
  wish.phase_a = 10;
  CHECK_FALSE(loomproof::trouble_with(wish).empty());
  wish = {};
  wish.name = "a \" b";
  CHECK_FALSE(loomproof::trouble_with(wish).empty());
}
