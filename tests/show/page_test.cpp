// Rule pages in the terminal: the Markdown that they use, laid out.
#include <filesystem>

#include <doctest/doctest.h>

#include "show/page_layout.h"
#include "show/show.h"

TEST_CASE("headings, paragraphs, lists, code and tables") {
  const std::string page = loomproof::laid_out(
      "# wire-heat\n\nNo conductor gets **hotter**\nthan allowed.\n\n## Why\n\n- one\n  more\n- two\n\n```\n  raw ** "
      "code\n```\n\n| a | b |\n| - | - |\n\nSee [the table](../x.md) and [IEC](https://iec.ch).\n",
      false);
  CHECK(
      page ==
      "wire-heat\n=========\n\nNo conductor gets hotter than allowed.\n\nWhy\n---\n\n- one more\n- two\n\n      raw ** "
      "code\n\n  | a | b |\n  | - | - |\n\nSee the table and IEC (https://iec.ch).\n");
}

TEST_CASE("long paragraphs are filled to 80 columns, items hang") {
  std::string words;
  for (int i = 0; i < 60; ++i) words += "word ";
  const std::string page = loomproof::laid_out("1. " + words, false);
  CHECK(page.starts_with("1. word"));
  std::size_t start = 0;
  int lines = 0;
  while (start < page.size()) {
    const std::size_t end = page.find('\n', start);
    CHECK(end - start <= 80);
    if (lines > 0) CHECK(page.substr(start, 4) == "   w");
    start = end + 1;
    ++lines;
  }
  CHECK(lines > 3);
}

TEST_CASE("every page of docs/rules is compiled in, and no other") {
  std::vector<std::string> on_disk;
  for (const auto& entry : std::filesystem::directory_iterator(SOURCE_ROOT + "/docs/rules")) {
    if (entry.path().extension() == ".md") on_disk.push_back(entry.path().stem().string());
  }
  std::sort(on_disk.begin(), on_disk.end());
  const std::vector<std::string_view> names = loomproof::page_names();
  CHECK(std::vector<std::string>(names.begin(), names.end()) == on_disk);
  for (const std::string_view name : names) CHECK(loomproof::page_of(name, false)->size() > 0);
  CHECK_FALSE(loomproof::page_of("no-such-page", false));
}
