// The table of rules is whole: every rule has its source, its page, a design that breaks it and a near miss.
#include <doctest/doctest.h>

#include "rules/design.h"

namespace {

namespace fs = std::filesystem;
using loomproof::Rule;
using loomproof::test::Mark;
using loomproof::test::marks_of;
using loomproof::test::text_of_file;

const fs::path source_root = SOURCE_ROOT;

// Sources of src/rules that are no rule.
const std::set<std::string> machinery{"ledger", "list", "judge", "subject", "story", "called"};

std::set<std::string> listed_names() {
  std::set<std::string> out;
  std::istringstream rows(text_of_file(source_root / "src/rules/list.inc"));
  for (std::string row; std::getline(rows, row);) {
    const std::size_t open = row.find("RULE(");
    if (open == std::string::npos) continue;
    out.insert(row.substr(open + 5, row.find(')') - open - 5));
  }
  return out;
}

std::string slug_of(std::string name) {
  std::replace(name.begin(), name.end(), '_', '-');
  return name;
}

bool marks_broken(const fs::path& design, std::string_view slug) {
  const auto marks = marks_of(text_of_file(design)).marks;
  return std::any_of(marks.begin(), marks.end(),
                     [&](const Mark& m) { return m.slug == slug && m.verdict == "broken"; });
}

bool marks_at_all(const fs::path& design, std::string_view slug) {
  const auto marks = marks_of(text_of_file(design)).marks;
  return std::any_of(marks.begin(), marks.end(), [&](const Mark& m) { return m.slug == slug; });
}

}  // namespace

TEST_CASE("every rule has its page, a design that breaks it and a near miss, or is said to lack them") {
  // Rows `slug what` of tests/rules/lacking.txt; one that is no longer lacking is a failure: the note is out of date.
  std::set<std::string> said;
  std::istringstream rows(text_of_file(source_root / "tests/rules/lacking.txt"));
  for (std::string row; std::getline(rows, row);) {
    if (!row.empty() && row.front() != '#') said.insert(row);
  }
  std::set<std::string> lacking;
  for (const Rule* rule : loomproof::all_rules()) {
    const std::string slug(rule->slug);
    if (!fs::exists(source_root / "docs/rules" / (slug + ".md"))) lacking.insert(slug + " page");
    const auto designs = loomproof::test::designs_in(loomproof::test::rules_folder() / slug);
    const bool breaks =
        std::any_of(designs.begin(), designs.end(), [&](const fs::path& d) { return marks_broken(d, slug); });
    if (!breaks) lacking.insert(slug + " breaking");
    const bool misses = std::any_of(designs.begin(), designs.end(), [&](const fs::path& d) {
      return loomproof::test::is_near_miss(d) && !marks_at_all(d, slug);
    });
    if (!misses) lacking.insert(slug + " near-miss");
  }
  for (const std::string& row : lacking) CHECK_MESSAGE(said.contains(row), "lacking and not said: ", row);
  for (const std::string& row : said) CHECK_MESSAGE(lacking.contains(row), "said to be lacking and is there: ", row);
}

TEST_CASE("every source of src/rules is in the list, and bears the name of its rule") {
  const std::set<std::string> listed = listed_names();
  std::set<std::string> slugs;
  for (const Rule* rule : loomproof::all_rules()) {
    CHECK_MESSAGE(slugs.insert(std::string(rule->slug)).second, "two rules have the slug ", std::string(rule->slug));
  }
  for (const auto& entry : fs::directory_iterator(source_root / "src/rules")) {
    if (entry.path().extension() != ".cpp") continue;
    const std::string name = entry.path().stem().string();
    if (machinery.contains(name)) continue;
    CHECK_MESSAGE(listed.contains(name), "src/rules/", name, ".cpp is not in src/rules/list.inc");
    CHECK_MESSAGE(slugs.contains(slug_of(name)), "no rule has the slug ", slug_of(name), " of src/rules/", name,
                  ".cpp");
  }
  for (const std::string& name : listed) {
    CHECK_MESSAGE(fs::exists(source_root / "src/rules" / (name + ".cpp")), "list.inc names ", name,
                  " and there is no src/rules/", name, ".cpp");
  }
}

TEST_CASE("every folder of designs belongs to a rule, and every page too") {
  for (const auto& entry : fs::directory_iterator(loomproof::test::rules_folder())) {
    if (!entry.is_directory()) continue;
    const std::string name = entry.path().filename().string();
    CHECK_MESSAGE(loomproof::find_rule(name) != nullptr, "tests/rules/", name, " is the folder of no rule");
  }
  for (const auto& page : loomproof::test::files_in(source_root / "docs/rules", ".md")) {
    CHECK_MESSAGE(loomproof::find_rule(page.stem().string()) != nullptr, "docs/rules/", page.filename().string(),
                  " is the page of no rule");
  }
}
