// `start` and `size` as a user runs them; the walk of docs/first-loom.md, command by command.
#include <algorithm>
#include <sstream>

#include "main/program.h"

using program::Folder;
using program::has;
using program::Ran;
using program::run;

namespace {

// The words of a command line with double quotes, as in the page.
std::vector<std::string> words_of(const std::string& line) {
  std::vector<std::string> out;
  bool quoted = false, fresh = true;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ' ' && !quoted) {
      fresh = true;
      continue;
    } else {
      if (fresh) out.emplace_back();
      out.back() += c;
    }
    if (fresh && c == '"') out.emplace_back();
    fresh = false;
  }
  return out;
}

std::vector<std::vector<std::string>> commands_of(const std::string& page) {
  std::vector<std::vector<std::string>> out;
  std::istringstream lines(page);
  bool in_block = false;
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("```")) in_block = line == "```sh";
    if (in_block && line.starts_with("loomproof ")) out.push_back(words_of(line));
  }
  return out;
}

const std::string open_loom =
    "loom: 1\nvehicle: {name: Small}\nconditions: {ambient: 40 degC}\nparts:\n"
    "  bat:  {is: battery, resistance: 10 mohm, capacity: 50 Ah}\n"
    "  fuse: {is: fuse, rated: choose, volts: 32 V, breaks: 10 kA, curve: blade}\n"
    "  load: {is: horn, draws: 12 A, volts: 12 V}\nwires:\n"
    "  A: {from: bat.pos, to: fuse.a, size: choose, length: 0.1 m, insulation: pvc-105}  # stays\n"
    "  B: {from: fuse.b, to: load.a, size: choose, length: 2 m, insulation: pvc-105}\n"
    "  C: {from: load.b, to: bat.neg, size: choose, length: 2 m, insulation: pvc-105}\n";

}  // namespace

TEST_CASE("the walk: from nothing to a checked, sized, drawn loom in at most five commands") {
  const auto commands = commands_of(texts::of_file(SOURCE_ROOT + "/docs/first-loom.md"));
  REQUIRE(commands.size() >= 3);
  CHECK(commands.size() <= 5);
  const Folder folder;
  bool checked = false;
  for (std::vector<std::string> words : commands) {
    words.erase(words.begin());
    // The page's files belong into a folder of the test's own.
    for (std::string& word : words) {
      if (word.ends_with(".yaml") || word.ends_with(".svg")) word = folder.at(word);
    }
    const Ran ran = run(words);
    CAPTURE(words.front());
    CAPTURE(ran.err);
    CAPTURE(ran.out);
    CHECK(ran.code == 0);
    if (words.front() == "check") checked = has(ran.out, " 0 broken, 0 undecided");
  }
  CHECK(checked);
  CHECK(texts::of_file(folder.at("sized.svg")).find("<svg") != std::string::npos);
  CHECK(texts::of_file(folder.at("cart.yaml")).find("choose") != std::string::npos);
  CHECK(texts::of_file(folder.at("sized.yaml")).find("choose") == std::string::npos);
}

TEST_CASE("check and draw refuse a file with open sizes and say what to run") {
  const Folder folder;
  const std::string path = folder.write("open.yaml", open_loom);
  for (const std::vector<std::string>& command :
       {std::vector<std::string>{"check", path}, {"draw", path, "-o", folder.at("x.svg")}}) {
    const Ran ran = run(command);
    CHECK(ran.code == 2);
    CHECK(has(ran.err, "4 values are left as 'choose', the first is rated of 'fuse'"));
    CHECK(has(ran.err, "open.yaml:6:27"));
    CHECK(has(ran.err, "loomproof size"));
    CHECK(has(ran.err, "1 error"));
  }
}

TEST_CASE("size writes a new file, prints the difference, and overwrites only when told") {
  const Folder folder;
  const std::string path = folder.write("open.yaml", open_loom);
  const std::string out = folder.at("new.yaml");
  const Ran ran = run({"size", path, "-o", out});
  CAPTURE(ran.err);
  CHECK(ran.code == 0);
  CHECK(has(ran.out, "rated of 'fuse'"));
  CHECK(has(ran.out, "choose -> 20 A"));
  CHECK(has(ran.out, "5 % of every limit"));
  CHECK(has(ran.out, "optimal"));
  const std::string sized = texts::of_file(out);
  CHECK(has(sized, "# stays"));
  CHECK(run({"check", out}).code == 0);
  CHECK(texts::of_file(path) == open_loom);

  const Ran again = run({"size", path, "-o", out, "--margin", "30 %"});
  CHECK(again.code == 2);
  CHECK(has(again.err, "is there already"));
  CHECK(texts::of_file(out) == sized);
  CHECK(run({"size", path, "-o", out, "--margin", "30 %", "--force"}).code == 0);
  CHECK(texts::of_file(out) != sized);
  CHECK(run({"size", path, "-o", path}).code == 2);
  CHECK(texts::of_file(path) == open_loom);
}

TEST_CASE("size: what cannot be used, and what cannot hold") {
  const Folder folder;
  const std::string path = folder.write("open.yaml", open_loom);
  CHECK(run({"size", path, "--margin", "60 %"}).code == 2);
  CHECK(run({"size", path, "--by", "price"}).code == 2);
  CHECK(run({"size", folder.at("absent.yaml")}).code == 2);
  const Ran faulty = run({"size", folder.write("bad.yaml", open_loom + "wirse: {}\n")});
  CHECK(faulty.code == 2);
  CHECK(has(faulty.err, "wirse"));
  CHECK_FALSE(has(faulty.err, "left as 'choose'"));
  const std::string stock = folder.write("stock.yaml", "stock: 1\ncables: [{sizes: [0.5 mm2]}]\n");
  const Ran none = run({"size", path, "-o", folder.at("none.yaml"), "--stock", stock});
  CHECK(none.code == 1);
  CHECK(has(none.out, "the largest pvc-105 cable in stock is 0.5 mm2"));
  CHECK(has(none.out, "nothing was written"));
  CHECK_FALSE(std::filesystem::exists(folder.at("none.yaml")));
}

TEST_CASE("start works without a terminal, states what it took, and overwrites only when told") {
  const Folder folder;
  const std::string out = folder.at("first.yaml");
  const Ran ran = run({"start", "-o", out, "--with", "none"});
  CAPTURE(ran.out);
  CHECK(ran.code == 3);  // what nobody said is unknown
  CHECK(has(ran.err, "chemistry lfp"));
  CHECK(has(ran.err, "cells in series 16"));
  CHECK(has(ran.out, "UNKNOWN"));
  const std::string first = texts::of_file(out);
  CHECK(has(first, "# UNKNOWN: resistance of one cell"));
  CHECK(run({"check", out}).code == 3);
  CHECK(run({"start", "-o", out}).code == 2);
  CHECK(texts::of_file(out) == first);
  CHECK(run({"start", "-o", folder.at("x.yaml"), "--series", "ninety"}).code == 2);
  CHECK(run({"start", "-o", folder.at("x.yaml"), "--battery-current", "100"}).code == 2);
  CHECK(run({"start", "-o", folder.at("x.yaml"), "--with", "wings"}).code == 2);
  CHECK_FALSE(std::filesystem::exists(folder.at("x.yaml")));
}
