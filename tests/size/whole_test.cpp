// Round trips over the demos, conflicts in plain words, margins and tolerances, stock lists, `--all`.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "read/read_stock.h"
#include "size/generated.h"

using namespace sizes;
using loomproof::SizeResult;

namespace {

std::string content(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

const std::string small = R"(loom: 1
vehicle: {name: Small}
conditions: {ambient: 40 degC}
parts:
  bat:  {is: battery, resistance: 10 mohm}
  fuse: {is: fuse, rated: choose, volts: 32 V, breaks: 10 kA, curve: blade}   # near the pole
  load: {is: horn, draws: 12 A, volts: 12 V}
wires:
  A: {from: bat.pos, to: fuse.a, size: choose, length: 0.1 m, insulation: pvc-105}
  B: {from: fuse.b, to: load.a, size: "choose", length: 2 m, insulation: pvc-105}  # the long one
  C: {from: load.b, to: bat.neg, size: choose, length: 2 m, insulation: pvc-105}
)";

const loomproof::SizedValue& value_of(const SizeResult& result, std::string_view owner) {
  const auto found = std::find_if(result.values.begin(), result.values.end(),
                                  [&](const loomproof::SizedValue& v) { return v.value.slot().owner == owner; });
  REQUIRE(found != result.values.end());
  return *found;
}
double amount_of(const SizeResult& result, std::string_view owner) {
  const auto& v = value_of(result, owner);
  return v.value.options[v.option].amount;
}

}  // namespace

TEST_CASE("demos with every size opened: all holds, and nothing but sizes changed") {
  const std::vector<std::string> names{"orchard-cart", "marshals-quad", "parcel-trike"};
  for (std::size_t n = 0; n < names.size(); n += every(3)) {
    const std::string& name = names[n];
    CAPTURE(name);
    const std::string written = content(std::string(SOURCE_ROOT) + "/netlists/" + name + ".yaml");
    const std::string open = opened(written);
    REQUIRE(open != written);
    const SizeResult result = loomproof::size_loom(request_for(open));
    REQUIRE(result.outcome == SizeResult::Outcome::found);
    const std::string broken = broken_in(result.text);
    CHECK_MESSAGE(broken.empty(), broken);
    // The sizes that were written put back in place give the file byte for byte.
    const auto was = loomproof::find_slots(written);
    const auto now = loomproof::find_slots(result.text);
    REQUIRE(was.size() == now.size());
    std::vector<loomproof::Edit> back;
    for (std::size_t i = 0; i < now.size(); ++i) {
      CHECK(now[i].owner == was[i].owner);
      back.push_back({now[i].at, now[i].written, was[i].written});
    }
    CHECK(*loomproof::edited(result.text, back) == written);
  }
}

TEST_CASE("text is edited in place: quotes, anchors, aliases, line ends of another system") {
  std::string text = small;
  text.replace(text.find("size: choose"), 12, "size: &thin choose");
  text.replace(text.find("size: choose"), 12, "size: *thin");
  std::string dos;
  for (const char c : text) dos += c == '\n' ? "\r\n" : std::string(1, c);
  for (const std::string& each : {text, dos}) {
    const SizeResult result = loomproof::size_loom(request_for(each));
    REQUIRE(result.outcome == SizeResult::Outcome::found);
    CHECK(result.text.find("size: &thin ") != std::string::npos);
    CHECK(result.text.find("size: *thin") != std::string::npos);
    CHECK(result.text.find("  # the long one") != std::string::npos);
    CHECK(result.text.find("size: \"") != std::string::npos);
    CHECK(result.text.find("choose") == std::string::npos);
    CHECK(broken_in(result.text).empty());
    CHECK(value_of(result, "A").value.slots.size() == 2);  // A and C share one text
  }
}

TEST_CASE("an edit that does not find its old value is refused") {
  CHECK_FALSE(loomproof::edited("size: 1 mm2\n", {{{1, 7}, "2 mm2", "4 mm2"}}));
  CHECK_FALSE(loomproof::edited("size: 1 mm2\n", {{{3, 1}, "1 mm2", "4 mm2"}}));
  CHECK(*loomproof::edited("size: 1 mm2\n", {{{1, 7}, "1 mm2", "4 mm2"}}) == "size: 4 mm2\n");
}

TEST_CASE("by hand: 12 A held") {
  // 12 A at most 80 % of the rating and 5 % to spare: 12 / 0.8 / 0.95 = 15.8 A, derated a little at 40 degC: 20 A.
  const SizeResult result = loomproof::size_loom(request_for(small));
  REQUIRE(result.outcome == SizeResult::Outcome::found);
  CHECK(amount_of(result, "fuse") == 20);
  CHECK(result.proved());
  // 8.96 kg/dm3: 1 mm2 over 1 m is 8.96 g
  CHECK(loomproof::copper_kg(1, 1) == doctest::Approx(8.96e-3));
  double kg = 0;
  for (const char* wire : {"A", "B", "C"}) kg += 8.96e-3 * amount_of(result, wire) * (wire[0] == 'A' ? 0.1 : 2);
  CHECK(result.cost == doctest::Approx(kg).epsilon(1e-4));
}

TEST_CASE("more margin and tolerance never make it lighter") {
  loomproof::SizeRequest request = request_for(small);
  request.margin = 0;
  const double none = loomproof::size_loom(request).cost;
  request.margin = 0.3;
  const SizeResult wide = loomproof::size_loom(request);
  REQUIRE(wide.outcome == SizeResult::Outcome::found);
  CHECK(wide.cost >= none);
  CHECK(amount_of(wide, "fuse") >= 12 / 0.8 / 0.7);
  request.margin = 0;
  request.tolerance = {0.45, 0.4, 40};
  const SizeResult rough = loomproof::size_loom(request);
  REQUIRE(rough.outcome == SizeResult::Outcome::found);
  CHECK(rough.cost > none);
}

TEST_CASE("nothing can hold: the facts, in the words of the file") {
  loomproof::SizeRequest request = request_for(small);
  std::erase_if(request.stock.cables[0].sizes, [](const loomproof::StockValue& v) { return v.amount > 0.75; });
  const SizeResult result = loomproof::size_loom(request);
  REQUIRE(result.outcome == SizeResult::Outcome::conflict);
  CHECK(result.text.empty());
  std::string facts;
  for (const loomproof::Reason& fact : result.facts) facts += fact.text + "\n";
  CAPTURE(facts);
  CHECK(facts.find("the largest pvc-105 cable in stock is 0.75 mm2") != std::string::npos);
  CHECK(result.facts.size() <= 3);
  // With the larger cable back, or a lighter load, it holds.
  CHECK(loomproof::size_loom(request_for(small)).outcome == SizeResult::Outcome::found);
  std::string lighter = small;
  lighter.replace(lighter.find("12 A"), 4, "1 A");
  loomproof::SizeRequest other = request_for(lighter);
  other.stock = request.stock;
  CHECK(loomproof::size_loom(other).outcome == SizeResult::Outcome::found);
}

TEST_CASE("a fixed fuse binds an open wire, a fixed wire an open fuse") {
  std::string text = small;
  text.replace(text.find("rated: choose"), 13, "rated: 40 A");
  const SizeResult thick = loomproof::size_loom(request_for(text));
  REQUIRE(thick.outcome == SizeResult::Outcome::found);
  CHECK(amount_of(thick, "B") > amount_of(loomproof::size_loom(request_for(small)), "B"));
  text = small;
  text.replace(text.find("size: \"choose\""), 14, "size: 0.5 mm2");
  const SizeResult bound = loomproof::size_loom(request_for(text));
  CHECK(bound.outcome == SizeResult::Outcome::conflict);
}

TEST_CASE("--all mends what is broken and leaves the rest alone") {
  std::string text = small;
  for (std::size_t at; (at = text.find("choose")) != std::string::npos;) {
    text.replace(at, 6, text.compare(at - 7, 7, "rated: ") == 0 ? "40 A" : "1.5 mm2");
  }
  // The lead up to the fuse stands what 40 A let through; it has no device of its own and needs none.
  text.replace(text.find("size: 1.5 mm2, length: 0.1 m"), 13, "size: 10 mm2");
  REQUIRE_FALSE(broken_in(text).empty());
  loomproof::SizeRequest request = request_for(text);
  CHECK(loomproof::size_loom(request).outcome == SizeResult::Outcome::nothing);
  request.all = true;
  const SizeResult result = loomproof::size_loom(request);
  REQUIRE(result.outcome == SizeResult::Outcome::found);
  CHECK(broken_in(result.text).empty());
  CHECK(std::none_of(result.values.begin(), result.values.end(),
                     [](const auto& v) { return v.value.slot().owner == "A"; }));
}

TEST_CASE("a stock list: sizes, insulation, fuses and prices of the user") {
  const loomproof::StockResult read = loomproof::read_stock(R"(stock: 1
cables:
  - {insulation: pvc-105, sizes: [14 AWG, 12 AWG, 10 AWG, 6 mm2], prices: [0.5, 0.7, 1.4, 1.2]}
fuses:
  - {curve: blade, volts: 32 V, rated: [15 A, 20 A, 25 A], price: 0.3}
)");
  REQUIRE(read.stock);
  loomproof::SizeRequest request = request_for(small);
  request.stock = *read.stock;
  request.objective = loomproof::Objective::price;
  const SizeResult result = loomproof::size_loom(request);
  REQUIRE(result.outcome == SizeResult::Outcome::found);
  CHECK(broken_in(result.text).empty());
  // 10 AWG is dearer than the larger 6 mm2 and is never taken.
  CHECK(result.text.find("10 AWG") == std::string::npos);
}

TEST_CASE("a stock list with faults names each of them") {
  const loomproof::StockResult read = loomproof::read_stock(
      "stok: 1\ncables:\n  - {sizes: [2 mm2, 1 mm2]}\nfuses:\n  - {curve: blade}\nresistors: {ohms: [47]}\n");
  CHECK_FALSE(read.stock);
  CHECK(read.faults.size() >= 4);
}
