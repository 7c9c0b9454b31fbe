// Each good demo with one seeded mistake: the rule that should find it does, and none that has nothing to do with it.
//
// tests/mutations/*.yaml are lists of {mistake, demo, change: [[from, to], ...], finds: [rules], may: [rules]}:
// `change` is replaced in the demo's text, each exactly once; every rule of `finds` must have a finding; `may` are
// rules that rightly speak of the same cause; a finding of any other rule is a wrong blame. `first: [rule, subject]` is
// the finding that is read first: the one that names the mistake, before what comes of it.
#include <doctest/doctest.h>

#include <yaml-cpp/yaml.h>

#include "rules/design.h"

namespace {

namespace fs = std::filesystem;

struct Mutation {
  std::string where;  // file and line
  std::string mistake, demo;
  std::vector<std::pair<std::string, std::string>> changes;
  std::set<std::string> finds, may;
  std::string first;  // "rule on subject"; empty: not asked
};

std::set<std::string> slugs_of(const YAML::Node& node, const std::string& where) {
  std::set<std::string> out;
  for (const YAML::Node& slug : node) {
    out.insert(slug.as<std::string>());
    if (loomproof::find_rule(slug.as<std::string>()) == nullptr)
      throw std::runtime_error(where + ": '" + slug.as<std::string>() + "' is no rule");
  }
  return out;
}

std::vector<Mutation> all_mutations() {
  std::vector<Mutation> out;
  for (const fs::path& path : loomproof::test::files_in(fs::path(TESTS_DIR) / "mutations", ".yaml")) {
    for (const YAML::Node& row : YAML::LoadFile(path.string())) {
      Mutation m;
      m.where = fmt::format("{}:{}", path.filename().string(), row.Mark().line + 1);
      for (const auto& pair : row) {
        const auto key = pair.first.as<std::string>();
        if (key != "mistake" && key != "demo" && key != "change" && key != "finds" && key != "may" && key != "first")
          throw std::runtime_error(m.where + ": '" + key + "' is not known");
      }
      m.mistake = row["mistake"].as<std::string>();
      m.demo = row["demo"].as<std::string>();
      for (const YAML::Node& change : row["change"])
        m.changes.emplace_back(change[0].as<std::string>(), change[1].as<std::string>());
      m.finds = slugs_of(row["finds"], m.where);
      if (row["may"]) m.may = slugs_of(row["may"], m.where);
      if (row["first"]) m.first = row["first"][0].as<std::string>() + " on " + row["first"][1].as<std::string>();
      if (m.finds.empty() || m.changes.empty()) throw std::runtime_error(m.where + ": changes or finds nothing");
      out.push_back(std::move(m));
    }
  }
  return out;
}

// Throws where a text stands in the demo not exactly once: a change that changes nothing shows nothing.
std::string mutated(const Mutation& m) {
  std::string text = loomproof::test::text_of_file(fs::path(SOURCE_ROOT) / "netlists" / (m.demo + ".yaml"));
  for (const auto& [from, to] : m.changes) {
    const std::size_t at = text.find(from);
    if (at == std::string::npos) throw std::runtime_error(m.where + ": '" + from + "' does not stand in the demo");
    if (text.find(from, at + 1) != std::string::npos)
      throw std::runtime_error(m.where + ": '" + from + "' stands in the demo more than once");
    text.replace(at, from.size(), to);
  }
  return text;
}

struct Outcome {
  std::map<std::string, std::size_t> findings;  // by slug
  std::string words, first;
};

Outcome outcome_of(const std::string& text, const std::string& name) {
  Outcome out;
  const auto read = loomproof::read_loom(text, name);
  if (!read.loom) {
    out.words = "cannot be read: " + (read.faults.empty() ? std::string() : read.faults.front().what);
    out.findings["(unreadable)"] = 1;
    return out;
  }
  const auto judgement = loomproof::judge(loomproof::solve(*read.loom));
  for (const auto* owed : judgement.findings()) {
    ++out.findings[std::string(owed->rule->slug)];
    if (out.first.empty()) out.first = fmt::format("{} on {}", owed->rule->slug, owed->subject.name);
    out.words += "\n    " + std::string(owed->rule->slug) + ": " + owed->what;
  }
  return out;
}

}  // namespace

TEST_CASE("seeded mistakes are found by the rule that should find them and blamed on no other") {
  const auto mutations = all_mutations();
  CHECK(mutations.size() >= 25);
  std::size_t found = 0, wrongly = 0;
  std::string table = fmt::format("\n{:<66} {:<7} {:<9} {}\n", "mistake", "found", "findings", "wrongly blamed");
  std::size_t tried = 0;
  for (std::size_t i = 0; i < mutations.size(); i += every(4)) {
    const Mutation& m = mutations[i];
    ++tried;
    const Outcome outcome = outcome_of(mutated(m), m.where);
    std::string missing, blamed;
    std::size_t findings = 0;
    for (const std::string& slug : m.finds) {
      if (!outcome.findings.contains(slug)) missing += " " + slug;
    }
    for (const auto& [slug, count] : outcome.findings) {
      findings += count;
      if (!m.finds.contains(slug) && !m.may.contains(slug)) blamed += " " + slug;
    }
    found += missing.empty() ? 1 : 0;
    wrongly += blamed.empty() ? 0 : 1;
    table += fmt::format("{:<66} {:<7} {:>8}  {}\n", m.demo + ": " + m.mistake, missing.empty() ? "yes" : "NO",
                         findings, blamed.empty() ? "-" : blamed);
    CHECK_MESSAGE(missing.empty(), m.where, " (", m.mistake, ") is not found by", missing, outcome.words);
    CHECK_MESSAGE((m.first.empty() || m.first == outcome.first), m.where, " (", m.mistake, ") is to begin with ",
                  m.first, outcome.words);
    CHECK_MESSAGE(blamed.empty(), m.where, " (", m.mistake, ") is blamed on", blamed, outcome.words);
  }
  MESSAGE(table, tried, " of ", mutations.size(), " mistakes, ", found, " found, ", wrongly, " with a wrong blame");
}
