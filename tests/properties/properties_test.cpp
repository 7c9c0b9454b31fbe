// What must not matter does not, and what must not make worse does not. The looms are the demos, good and broken.
#include <doctest/doctest.h>

#include "properties/rewrite.h"
#include "read/read.h"
#include "rules/ledger.h"
#include "rules/list.h"
#include "solve/solved.h"

using namespace loomproof;

namespace {

namespace fs = std::filesystem;

// rule, subject, verdict
using Verdicts = std::multiset<std::tuple<std::string, std::string, Verdict>>;

struct Checked {
  Loom loom;
  Solved solved;
  Judgement judgement;
};

std::unique_ptr<Checked> checked(const std::string& text) {
  ReadResult read = read_loom(text, "properties.yaml");
  std::string faults;
  for (const ReadFault& f : read.faults) faults += fmt::format("{}:{}: {}\n", f.at.line, f.at.column, f.what);
  CAPTURE(faults);
  REQUIRE(read.loom);
  auto out = std::make_unique<Checked>();
  out->loom = std::move(*read.loom);
  out->solved = solve(out->loom);
  out->judgement = judge(out->solved);
  return out;
}

Verdicts verdicts_of(const Checked& c, const std::map<std::string, std::string>& names = {}) {
  Verdicts out;
  for (const Obligation& owed : c.judgement.obligations) {
    const std::string subject = rewrite::words_replaced(owed.subject.name, [&](const std::string& word, char before) {
      const auto found = names.find(word);
      return found == names.end() || before == '.' ? word : found->second;
    });
    out.emplace(owed.rule->slug, subject, *owed.verdict);
  }
  return out;
}

std::string difference(const Verdicts& a, const Verdicts& b) {
  std::string out;
  const auto tell = [&](const Verdicts& from, const Verdicts& other, char sign) {
    for (const auto& v : from) {
      if (from.count(v) != other.count(v)) {
        out += fmt::format("{} {} '{}' {}\n", sign, std::get<0>(v), std::get<1>(v), name_of(std::get<2>(v)));
      }
    }
  };
  tell(a, b, '-');
  tell(b, a, '+');
  return out;
}

std::vector<std::string> demos() {
  std::vector<std::string> out;
  for (const char* name : {"orchard-cart", "marshals-quad", "parcel-trike"})
    out.push_back(fmt::format("{}/netlists/{}.yaml", SOURCE_ROOT, name));
  return out;
}

std::vector<std::string> looms(std::size_t every) {
  std::vector<std::string> out = demos(), broken;
  for (const auto& entry : fs::directory_iterator(SOURCE_ROOT + "/netlists/broken")) broken.push_back(entry.path());
  std::sort(broken.begin(), broken.end());
  for (std::size_t i = 0; i < broken.size(); i += every) out.push_back(broken[i]);
  return out;
}

const std::size_t every_broken = every(12);
const std::size_t every_wire = 5 * every(5);

// The entry of a wire in the `wires` section, as a map that can be changed.
std::string with_wires(const std::string& text, const std::function<void(YAML::Node&)>& change) {
  YAML::Node file = YAML::Load(text);
  YAML::Node wires = file["wires"];
  change(wires);
  YAML::Emitter out;
  out << file;
  return out.c_str();
}

const Obligation* find(const Judgement& judgement, std::string_view rule, const std::string& subject) {
  for (const Obligation& owed : judgement.obligations) {
    if (owed.rule->slug == rule && owed.subject.name == subject) return &owed;
  }
  return nullptr;
}

int rank(Verdict v) {
  return v == Verdict::holds ? 0 : v == Verdict::undecided ? 1 : 2;
}

}  // namespace

TEST_CASE("order: the maps of a file shuffled, every verdict stays") {
  int cases = 0;
  for (const std::string& path : looms(every_broken)) {
    CAPTURE(path);
    const std::string text = rewrite::file_text(path);
    const auto before = checked(text);
    const std::string differs = difference(verdicts_of(*before), verdicts_of(*checked(rewrite::reordered(text, 7))));
    CHECK_MESSAGE(differs.empty(), differs);
    ++cases;
  }
  MESSAGE(cases, " looms shuffled");
}

TEST_CASE("names: parts, wires and bundles renamed so that they sort backwards, every verdict stays") {
  int cases = 0;
  std::size_t names = 0;
  for (const std::string& path : looms(every_broken)) {
    CAPTURE(path);
    const std::string text = rewrite::file_text(path);
    const auto [written, fresh] = rewrite::renamed(SOURCE_ROOT, text);
    REQUIRE(fresh.size() > 60);
    const std::string differs = difference(verdicts_of(*checked(text), fresh), verdicts_of(*checked(written)));
    CHECK_MESSAGE(differs.empty(), differs);
    ++cases;
    names += fresh.size();
  }
  MESSAGE(cases, " looms, ", names, " names changed");
}

TEST_CASE("units: every quantity in another unit, every verdict stays") {
  int cases = 0, quantities = 0;
  for (const std::string& path : looms(every_broken)) {
    CAPTURE(path);
    const std::string text = rewrite::file_text(path);
    const auto [written, changed] = rewrite::other_units(text);
    REQUIRE(changed > 150);
    const std::string differs = difference(verdicts_of(*checked(text)), verdicts_of(*checked(written)));
    CHECK_MESSAGE(differs.empty(), differs);
    ++cases;
    quantities += changed;
  }
  MESSAGE(cases, " looms, ", quantities, " quantities rewritten");
}

TEST_CASE("a splice in the middle of a wire changes no verdict and no temperature beyond rounding") {
  int cases = 0;
  for (const std::string& path : demos()) {
    const std::string text = rewrite::file_text(path);
    const auto before = checked(text);
    for (std::size_t w = 3; w < before->loom.wires.size(); w += every_wire) {
      const Wire& wire = before->loom.wires[w];
      CAPTURE(path);
      CAPTURE(wire.name);
      if (!wire.length) continue;
      YAML::Node file = YAML::Load(text);
      file["parts"]["mid_splice"]["is"] = "splice";
      YAML::Node whole = file["wires"][wire.name], half = YAML::Clone(whole);
      whole["length"] = half["length"] = fmt::format("{:.12g} mm", wire.length->value.value * 500);
      const std::string end = whole["to"].Scalar();
      whole["to"] = "mid_splice";
      half["from"] = "mid_splice";
      half.remove("in");  // a bundle takes one of the halves for the whole wire, as it did before
      half["to"] = end;
      file["wires"]["other_half"] = half;
      YAML::Emitter out;
      out << file;
      const auto after = checked(out.c_str());
      // Of the wire itself there are now two; all others are as they were.
      const auto others = [&](const Checked& c) {
        Verdicts v = verdicts_of(c);
        std::erase_if(v, [&](const auto& each) {
          const std::string& subject = std::get<1>(each);
          return subject == wire.name || subject == "other_half" || subject.find("mid_splice") != std::string::npos;
        });
        return v;
      };
      const std::string differs = difference(others(*before), others(*after));
      CHECK_MESSAGE(differs.empty(), differs);
      for (const Obligation& owed : after->judgement.obligations) {
        const std::string& s = owed.subject.name;
        if (s != wire.name && s != "other_half") continue;
        const Obligation* was = find(before->judgement, owed.rule->slug, wire.name);
        CAPTURE(owed.what);
        CHECK(rank(*owed.verdict) <= (was ? rank(*was->verdict) : 0));
      }
      for (std::size_t v = 0; v < before->loom.wires.size(); ++v) {
        const auto at = std::find_if(after->loom.wires.begin(), after->loom.wires.end(),
                                     [&](const Wire& x) { return x.name == before->loom.wires[v].name; });
        REQUIRE(at != after->loom.wires.end());
        CHECK(after->solved.heat[static_cast<std::size_t>(at - after->loom.wires.begin())].peak.value ==
              doctest::Approx(before->solved.heat[v].peak.value).epsilon(1e-3));
      }
      ++cases;
    }
  }
  MESSAGE(cases, " wires divided");
  CHECK(cases >= 6);
}

TEST_CASE("a twin beside a wire never makes the wire hotter") {
  int cases = 0;
  for (const std::string& path : demos()) {
    const std::string text = rewrite::file_text(path);
    const auto before = checked(text);
    for (std::size_t w = 1; w < before->loom.wires.size(); w += every_wire) {
      const std::string name = before->loom.wires[w].name;
      CAPTURE(path);
      CAPTURE(name);
      const auto after = checked(with_wires(text, [&](YAML::Node& wires) {
        YAML::Node twin = YAML::Clone(wires[name]);
        twin.remove("in");  // in air, so that it warms no bundle
        wires["twin"] = twin;
      }));
      CHECK(after->solved.heat[w].peak.value <= before->solved.heat[w].peak.value + 0.02);
      ++cases;
    }
  }
  MESSAGE(cases, " wires doubled");
  CHECK(cases >= 6);
}

TEST_CASE("a thicker wire is no hotter, and the verdict on its heat no worse") {
  int cases = 0, cooler = 0;
  for (const std::string& path : looms(every_broken * 3)) {
    const std::string text = rewrite::file_text(path);
    const auto before = checked(text);
    for (std::size_t w = 0; w < before->loom.wires.size(); w += every_wire * 3) {
      const Wire& wire = before->loom.wires[w];
      if (!wire.size) continue;
      CAPTURE(path);
      CAPTURE(wire.name);
      const auto after = checked(with_wires(text, [&](YAML::Node& wires) {
        wires[wire.name]["size"] = fmt::format("{:.6g} mm2", wire.size->value.value * 1.6);
      }));
      const double was = before->solved.heat[w].peak.value, is = after->solved.heat[w].peak.value;
      CHECK(is <= was + 0.02);
      cooler += is < was ? 1 : 0;
      const Obligation* a = find(before->judgement, "wire-heat", wire.name);
      const Obligation* b = find(after->judgement, "wire-heat", wire.name);
      if (a && b) CHECK(rank(*b->verdict) <= rank(*a->verdict));
      ++cases;
    }
  }
  MESSAGE(cases, " wires made thicker, ", cooler, " cooler by it");
  CHECK(cooler > 3);
}

// Common practice, no source: a diode across the coil, cathode at the plus, does what the relay's own suppressor does.
TEST_CASE("a free-wheeling diode of one's own in place of the relay's is no way for a fault, and finds nothing") {
  for (const std::string& path : demos()) {
    CAPTURE(path);
    YAML::Node loom = YAML::LoadFile(path);
    REQUIRE(loom["parts"]["pre_relay"]["suppression"].as<std::string>() == "diode");
    loom["parts"]["pre_relay"]["suppression"] = "none";
    const auto bare = checked(YAML::Dump(loom));
    CHECK(std::any_of(bare->judgement.obligations.begin(), bare->judgement.obligations.end(), [](const Obligation& o) {
      return o.verdict == Verdict::broken && std::string(o.rule->slug) == "coil-suppression";
    }));
    loom["parts"]["quench"] = YAML::Load("{is: diode, carries: 1 A, blocks: 150 V}");
    const std::string size = ", size: 1 mm2, length: 0.1 m, insulation: pvc-105}";
    loom["wires"]["QF1"] = YAML::Load("{from: pre_relay.coil_a, to: quench.cathode" + size);
    loom["wires"]["QF2"] = YAML::Load("{from: pre_relay.coil_b, to: quench.anode" + size);
    const auto held = checked(YAML::Dump(loom));
    for (const Obligation& o : held->judgement.obligations) {
      CAPTURE(o.rule->slug);
      CAPTURE(o.subject.name);
      CHECK(o.verdict == Verdict::holds);
    }
  }
}
