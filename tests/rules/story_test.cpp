// What is told of a finding. What a walk over single faults leaves open is no proof: situations that did not settle,
// and those that nobody walked.
//
// The networks that these files describe come to rest or chatter, and a chatter is looked at step by step; so the walk
// of a design that holds is given such a gap by hand.
#include <memory>
#include <string>

#include <doctest/doctest.h>

#include "rules/design.h"
#include "solve/fault_walk.h"
#include "where.h"

namespace {

using loomproof::FaultWalk;
using loomproof::Obligation;
using loomproof::Solved;
using loomproof::Verdict;
using loomproof::WatchResult;

// The two-way brake of drive-cut, judged after `spoil` has changed its walk.
template <class Spoil>
std::vector<Obligation> drive_cut_after(Spoil spoil) {
  const auto path = loomproof::test::rules_folder() / "drive-cut" / "near-two-ways.yaml";
  const loomproof::ReadResult read = loomproof::read_loom(loomproof::test::text_of_file(path), path.string());
  REQUIRE(read.loom.has_value());
  Solved solved = loomproof::solve(*read.loom);
  FaultWalk walk = *solved.faults;
  spoil(walk);
  solved.faults = std::make_shared<const FaultWalk>(std::move(walk));
  std::vector<Obligation> out;
  for (const Obligation& owed : loomproof::judge(solved).obligations) {
    if (owed.rule->slug == "drive-cut") out.push_back(owed);
  }
  REQUIRE_FALSE(out.empty());
  return out;
}

}  // namespace

TEST_CASE("a walk that came to an end everywhere proves the design") {
  for (const Obligation& owed : drive_cut_after([](FaultWalk&) {})) CHECK(owed.verdict == Verdict::holds);
}

TEST_CASE("situations that did not settle under a fault leave the watch undecided") {
  const auto judged = drive_cut_after([](FaultWalk& walk) {
    for (WatchResult& w : walk.watches) w.unsettled = 3;
  });
  for (const Obligation& owed : judged) {
    CHECK(owed.verdict == Verdict::undecided);
    CHECK_MESSAGE(owed.what.find("3 situations did not settle") != std::string::npos, owed.what);
  }
}

TEST_CASE("situations that nobody walked leave the watch undecided") {
  const auto judged = drive_cut_after([](FaultWalk& walk) {
    for (auto& w : walk.watches) w.left_out = "half of them";
  });
  for (const Obligation& owed : judged) {
    CHECK(owed.verdict == Verdict::undecided);
    CHECK_MESSAGE(owed.what.find("half of them") != std::string::npos, owed.what);
  }
}

// A jumper left across one of two contactors: the charger's plug is nearer to the bus than the pack, and is dead unless
// somebody plugs it in.
TEST_CASE("what feeds a live terminal is a supply that is on") {
  std::string text = loomproof::test::text_of_file(SOURCE_ROOT + "/netlists/marshals-quad.yaml");
  text.insert(text.find("  X4:"), "  X9:  {from: k_pos.a, to: k_pos.b, size: 35 mm2, length: 0.2 m}\n");
  const loomproof::ReadResult read = loomproof::read_loom(text, "jumper");
  REQUIRE(read.loom.has_value());
  const Solved solved = loomproof::solve(*read.loom, false);
  const auto judged = loomproof::judge(solved).obligations;
  const auto feed_told_by = [&](const std::string& must) -> std::string {
    for (const Obligation& owed : judged) {
      if (owed.rule->slug != "requirement" || owed.subject.name != must) continue;
      for (const auto& note : owed.notes) {
        if (note.text.find("is fed by") != std::string::npos) return note.text;
      }
    }
    return {};
  };
  CHECK(feed_told_by("key-kills-bus").starts_with("'drive.bat_pos' is fed by: pack -> X1"));
  CHECK(feed_told_by("charger-kills-bus").starts_with("'drive.bat_pos' is fed by: charger -> Z2"));
}

// Its own five switches make 32 states; taken along by the watch beside it, which hangs on sixteen, it would be walked
// near rest only.
TEST_CASE("a watch that can be walked whole is, beside one that cannot") {
  const loomproof::ReadResult read = loomproof::read_loom(
      loomproof::test::text_of_file(SOURCE_ROOT + "/tests/rules/requirement/small-beside-large.yaml"), "winch");
  REQUIRE(read.loom.has_value());
  const Solved solved = loomproof::solve(*read.loom);
  CHECK(!solved.faults->left_out.empty());
  std::string seen;
  for (const auto& point : loomproof::judge(solved).single_points) seen += point.fault + ": " + point.happens + "\n";
  CHECK_MESSAGE(seen.find("'rel.no' welded: 'hush-silences'") != std::string::npos, seen);
}
