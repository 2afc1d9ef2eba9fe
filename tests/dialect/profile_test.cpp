#include "dialect/profile.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <vector>

using namespace restep;
using namespace restep::dialect;
namespace fs = std::filesystem;

namespace {

/// A folder of profiles that goes when the test ends; it is searched first, then the shipped ones.
class Folder {
public:
  Folder()
      : path_(fs::temp_directory_path() /
              fs::path("restep-profiles-" + std::to_string(std::random_device{}()))) {
    fs::create_directories(path_ / "dialects");
    for (auto const* kind : {"dialects", "machines", "tools"})
      fs::copy(fs::path(RESTEP_SOURCE_DIR) / "profiles" / kind, path_ / kind,
               fs::copy_options::recursive | fs::copy_options::overwrite_existing);
    setenv("RESTEP_PROFILES", path_.c_str(), 1);
  }
  ~Folder() {
    unsetenv("RESTEP_PROFILES");
    fs::remove_all(path_);
  }
  Folder(Folder const&) = delete;
  Folder& operator=(Folder const&) = delete;

  std::string write(std::string const& name, std::string const& content) {
    std::ofstream(path_ / name) << content;
    return (path_ / name).string();
  }
  fs::path const& path() const { return path_; }

private:
  fs::path path_;
};

/// All messages of a file, each without the folder.
std::vector<std::string> messages(Folder const& folder, std::string const& file) {
  std::vector<std::string> texts;
  auto const prefix = folder.path().string() + "/";
  for (auto error : check_profile(file)) {
    if (error.file.starts_with(prefix)) error.file.erase(0, prefix.size());
    texts.push_back(format(error));
  }
  return texts;
}

using Messages = std::vector<std::string>;

} // namespace

TEST_CASE("every shipped profile can be used", "[profile]") {
  Folder const folder;
  int seen = 0;
  for (auto const& entry : fs::recursive_directory_iterator(RESTEP_SOURCE_DIR "/profiles")) {
    if (entry.path().extension() != ".toml") continue;
    ++seen;
    INFO(entry.path().string());
    CHECK(messages(folder, entry.path().string()) == Messages{});
  }
  CHECK(seen >= 6);
}

TEST_CASE("a full control's profile says what the defaults are", "[profile]") {
  Folder const folder;
  auto const loaded = load_dialect("rs274ngc");
  REQUIRE(loaded);
  Dialect const plain;
  CHECK(loaded->name == "rs274ngc");
  CHECK(loaded->decimals_mm == plain.decimals_mm);
  CHECK(loaded->decimals_inch == plain.decimals_inch);
  CHECK(loaded->max_line_length == plain.max_line_length);
  CHECK(loaded->cycle_codes == plain.cycle_codes);
  CHECK(loaded->work_offset_count == plain.work_offset_count);
  CHECK(loaded->chord_tolerance_mm == plain.chord_tolerance_mm);
  CHECK(loaded->read.arc_tolerance_mm == plain.read.arc_tolerance_mm);
}

TEST_CASE("a profile takes over what its base says", "[profile]") {
  Folder folder;
  auto const file =
      folder.write("own.toml", "profile = \"dialect\"\nbase = \"small-firmware\"\ntitle = \"mine\"\n"
                               "[numbers]\ndecimals_mm = 2\n");
  auto const own = load_dialect(file);
  REQUIRE(own);
  CHECK(own->name == "own");
  CHECK(own->title == "mine");
  CHECK(own->decimals_mm == 2);
  CHECK(own->max_line_length == 80);
  CHECK_FALSE(own->cycles);
}

TEST_CASE("resolution is the length of the last digit", "[profile]") {
  Folder const folder;
  auto const small = load_dialect("small-firmware");
  REQUIRE(small);
  CHECK(small->resolution(motion::Units::mm) == Approx(0.001));
  CHECK(small->resolution(motion::Units::inch) == Approx(0.00254));
}

TEST_CASE("the workshop's machines and tools are read as they stand", "[profile]") {
  Folder const folder;
  auto const bench = load_machine("bench-mill");
  REQUIRE(bench);
  CHECK(bench->dialect == "small-firmware-remarks");
  CHECK(bench->travel == geometry::Vec3{300, 180, 150});
  CHECK(bench->spindle_max == 10000);
  CHECK(bench->tool_change == motion::ToolChangePolicy::by_hand);
  auto const column = load_machine("column-mill");
  REQUIRE(column);
  CHECK(column->retract == motion::RetractPolicy::machine_top);
  CHECK(column->travel.z == 400);
  auto const tools = load_tools("workshop");
  REQUIRE(tools);
  REQUIRE(tools->find(3) != nullptr);
  CHECK(tools->find(3)->kind == cutter::ToolKind::bull);
  CHECK(tools->find(3)->corner_radius == 0.3);
  CHECK(tools->find(1)->chip_load_max == 0.035);
}

TEST_CASE("a mistyped key, type and value are told at their place with what was meant", "[profile]") {
  Folder folder;
  auto const file = folder.write("bad.toml", "base = \"rs274ngc\"\n"
                                             "[numbers]\n"
                                             "decimal_mm = 3\n"
                                             "decimals_inch = \"four\"\n"
                                             "decimals_feed = 9\n"
                                             "[blocks]\n"
                                             "comment_style = \"semikolon\"\n"
                                             "inch = true\n"
                                             "[blokcs]\n"
                                             "[words]\n"
                                             "cycles = 81\n"
                                             "home = 1\n");
  auto const found = messages(folder, file);
  auto const has = [&](std::string const& wanted) {
    INFO(wanted);
    CHECK(std::find(found.begin(), found.end(), wanted) != found.end());
  };
  CHECK(found.size() == 8);
  has("bad.toml:3:1: error: unknown key 'decimal_mm' in [numbers]; did you mean 'decimals_mm'?");
  has("bad.toml:4:17: error: 'decimals_inch' must be a whole number from 0 to 7, found the text \"four\"");
  has("bad.toml:5:17: error: 'decimals_feed' must be a whole number from 0 to 6, found 9");
  has("bad.toml:7:17: error: 'comment_style' must be one of 'parentheses', 'semicolon', found the text "
      "\"semikolon\"; did you mean 'semicolon'?");
  has("bad.toml:8:1: error: 'inch' does not belong in [blocks]; it belongs in [words]");
  has("bad.toml:9:2: error: unknown section [blokcs]; did you mean 'blocks'?");
  has("bad.toml:11:10: error: 'cycles' must be a list of code numbers, found 81");
  has("bad.toml:12:8: error: 'home' must be true or false, found 1");
}

TEST_CASE("settings that contradict each other are refused", "[profile]") {
  Folder folder;
  auto const check = [&](std::string const& keys, std::string const& message) {
    auto const file = folder.write("odd.toml", "base = \"rs274ngc\"\n" + keys);
    CHECK(messages(folder, file) == Messages{message});
  };
  check("[words]\ninch = false\nmillimetre = false\n",
        "odd.toml:3:1: error: the control has neither inches nor millimetres; set one of them to true");
  check("[reading]\ncount_without_point = true\n",
        "odd.toml:3:1: error: a length without a point would be read as a count of increments; set [numbers] "
        "always_point = true, or count_increments = true");
  check("[numbers]\ncount_increments = true\n",
        "odd.toml:3:1: error: lengths would be written as counts but be read as millimetres; set [reading] "
        "count_without_point = true");
  check("[numbers]\ncount_increments = true\ndecimals_mm = 3\n[reading]\ncount_without_point = true\n",
        "odd.toml:3:1: error: X has digits of 1e-05 inch, but the control counts 0.0001 inch; make [numbers] "
        "decimals_inch agree with [reading] least_increment_inch");
  check("[numbers]\nletters_mm = { I = 5 }\n", "odd.toml:3:1: error: I, J and K must have the same digits: "
                                               "they say one point; give all three the same "
                                               "number");
  check("[arcs]\ncentre_absolute = true\nradius_form = true\n",
        "odd.toml:4:1: error: an arc is said by its radius or by its centre, not by both; set "
        "centre_absolute = "
        "false or radius_form = false");
  check("[arcs]\nsmallest_radius = 5\nlargest_radius = 2\n",
        "odd.toml:4:1: error: the largest radius is smaller than the smallest; 0 means no limit");
  check("[arcs]\nxy = false\nzx = false\nyz = false\nhelical = false\n",
        "odd.toml:1:1: error: full circles without arcs in any plane; set full_circles = false, or give a "
        "plane");
  check("[words]\npath_control = false\npath_tolerance = true\n",
        "odd.toml:4:1: error: G64 P without G64; set path_control = true");
}

TEST_CASE("what a profile wants put into programs must move nothing and be known", "[profile]") {
  Folder folder;
  auto const check = [&](std::string const& keys, Messages const& wanted) {
    CHECK(messages(folder, folder.write("odd.toml", "base = \"rs274ngc\"\n" + keys)) == wanted);
  };
  std::string const hint =
      "remarks, stops, M5, coolant, G4, G40, G49 and the codes in carried_g and carried_m can";
  check("[templates]\nhead = [\"(for {machine})\", \"M9\", \"G0 Z5\"]\n",
        {"odd.toml:3:34: error: \"G0 Z5\" cannot be put into a program: it moves the machine or changes what "
         "the "
         "words behind it mean; " +
         hint});
  check("[templates]\nend = [\"M52\"]\n", {"odd.toml:3:8: error: \"M52\" cannot be put into a program: M52 "
                                           "is not a known code: what it does on the machine is not known; " +
                                           hint});
  check("[templates]\nend = [\"M52\"]\n[reading]\ncarried_m = [52]\n", {});
  check("[templates]\nend = \"M9\"\n",
        {"odd.toml:3:7: error: 'end' must be a list of lines, found the text \"M9\""});
  check("[words]\nreplace = { M3 = \"M4\" }\n", {"odd.toml:3:18: error: 'replace': M3 cannot be replaced; "
                                                 "M1, M7, M8, M9, M48, M49, M60, G61, G61.1, G64 "
                                                 "and codes that are only carried can"});
  check("[words]\nreplace = { M8 = 7 }\n",
        {"odd.toml:3:18: error: 'replace': 'M8' must become a text, found 7"});
  check("[numbers]\nletters_mm = { F = 5, I = 12 }\n",
        {"odd.toml:3:16: error: 'letters_mm': 'F' is no letter of a length; lengths have the letters X Y Z I "
         "J K R Q P",
         "odd.toml:3:27: error: 'letters_mm.I' must be a number from 0 to 6, found 12"});
}

TEST_CASE("a machine that asks more of its control than it has is refused", "[profile]") {
  Folder folder;
  auto const file = folder.write("m.toml", "profile = \"machine\"\ndialect = \"small-firmware\"\n"
                                           "[tools]\nchange = \"automatic\"\n[retract]\nhow = \"home\"\n");
  CHECK(
      messages(folder, file) ==
      Messages{"m.toml:6:1: error: a retract to the home position needs G28, which 'small-firmware' has not; "
               "use how = \"clearance\"",
               "m.toml:4:1: error: an automatic tool change needs M6, which 'small-firmware' has not; use "
               "change = \"by_hand\""});
}

TEST_CASE("touching off on a plate is refused unless all of it is said and the control has the words",
          "[profile]") {
  Folder folder;
  folder.write("dialects/stores.toml", "base = \"rs274ngc\"\n[words]\nset_origin_here = true\n");
  auto const problems = [&](std::string const& dialect, std::string const& keys, std::string const& change) {
    return messages(folder, folder.write("m.toml", "profile = \"machine\"\ndialect = \"" + dialect +
                                                       "\"\n[tools]\nchange = \"" + change +
                                                       "\"\n[touch_off]\nhow = \"plate\"\n" + keys));
  };
  std::string const all = "plate = 12\nsearch = 40\nfeed = 100\nslow_feed = 20\n";
  CHECK(problems("rs274ngc", all, "by_hand").empty());
  CHECK(problems("stores", all + "sets = \"G10\"\n", "by_hand").empty());
  CHECK(problems("rs274ngc", all, "automatic").size() == 1);
  CHECK(problems("small-firmware", all, "by_hand").front() ==
        "m.toml:6:1: error: touching off on a plate needs G38.2, which 'small-firmware' has not; use how = "
        "\"by_operator\"");
  CHECK(problems("rs274ngc", all + "sets = \"G10\"\n", "by_hand") ==
        Messages{"m.toml:11:1: error: touching off needs G10 L20, which 'rs274ngc' has not"});
  CHECK(problems("rs274ngc", "plate = 12\nfeed = 100\nslow_feed = 20\n", "by_hand") ==
        Messages{"m.toml:6:1: error: touching off on a plate without 'search'; give plate, search, feed and "
                 "slow_feed in [touch_off]"});
  CHECK(problems("rs274ngc", "plate = 12\nsearch = 40\nfeed = 20\nslow_feed = 100\n", "by_hand").size() == 1);
  CHECK(problems("rs274ngc", all + "[feeds]\nplunge = 80\n", "by_hand").size() == 1);
  CHECK(problems("rs274ngc", "plate = 12\nsearch = 9000\nfeed = 100\nslow_feed = 20\n", "by_hand").size() ==
        1);
}

TEST_CASE("a machine's travel must agree with its ends", "[profile]") {
  Folder folder;
  auto const check = [&](std::string const& travel, std::string const& message) {
    auto const file =
        folder.write("m.toml", "profile = \"machine\"\ndialect = \"rs274ngc\"\n[travel]\n" + travel);
    CHECK(messages(folder, file) == Messages{message});
  };
  check("least = [0, 0, 0]\n",
        "m.toml:4:1: error: 'least' and 'most' belong together: one of them is missing; "
        "give both ends of the travel in machine coordinates, or only 'span'");
  check("least = [0, 0, 0]\nmost = [100, -1, 50]\n",
        "m.toml:5:1: error: the travel of Y ends at -1 before it begins at 0");
  check("span = [100, 50, 50]\nleast = [0, 0, 0]\nmost = [100, 60, 50]\n",
        "m.toml:4:1: error: 'span' says Y travels 50, 'least' and 'most' say 60; leave 'span' out: it "
        "follows from "
        "the two ends");
  check("span = [100, 50]\n", "m.toml:4:8: error: 'span' must be a list of 3 numbers, found a list of 2");
}

TEST_CASE("a tool table tells of each tool what is wrong", "[profile]") {
  Folder folder;
  auto const file =
      folder.write("t.toml", "profile = \"tools\"\n"
                             "[[tool]]\nnumber = 1\nshape = \"flat 6\"\n"
                             "[[tool]]\nnumber = 1\nshape = \"flat 4\"\n"
                             "[[tool]]\nshape = \"flat 4\"\n"
                             "[[tool]]\nnumber = 4\nshape = \"flat 4\"\nchip_load = [0.3, 0.1]\n"
                             "[[tool]]\nnumber = 5\nshape = \"flat 4\"\nflute_lenght = 3\n");
  CHECK(
      messages(folder, file) ==
      Messages{"t.toml:5:1: error: tool 1 is listed twice, first in line 2",
               "t.toml:8:1: error: a tool without 'number'; for example number = 3, shape = \"bull 3 r0.3\"",
               "t.toml:13:13: error: 'chip_load' is [least, most], but 0.3 is more than 0.1",
               "t.toml:17:1: error: unknown key 'flute_lenght' in [[tool]]; did you mean 'flute_length'?"});
}

TEST_CASE("a profile of another kind, a broken file and a missing base are told", "[profile]") {
  Folder folder;
  auto const machine = folder.write("m.toml", "profile = \"machine\"\n");
  auto const loaded = load_dialect(machine);
  REQUIRE_FALSE(loaded);
  CHECK(loaded.error().message == "this is a profile of 'machine', wanted 'dialect'");
  CHECK(loaded.error().line == 1);
  CHECK(messages(folder, folder.write("b.toml", "base = \"rs247ngc\"\n")) ==
        Messages{"b.toml:1:8: error: the base 'rs247ngc' was not found; did you mean 'rs274ngc'?"});
  CHECK(messages(folder, folder.write("c.toml", "base = \"c\"\n")) ==
        Messages{"c.toml:1:8: error: 'base' leads back to this file; a profile cannot be based on itself"});
  auto const broken = check_profile(folder.write("x.toml", "[numbers]\ndecimals_mm = = 3\n"));
  REQUIRE(broken.size() == 1);
  CHECK(broken[0].line == 2);
}

TEST_CASE("an unknown name gets the nearest known one", "[profile]") {
  Folder const folder;
  auto const loaded = load_machine("bench_mill");
  REQUIRE_FALSE(loaded);
  CHECK(format(loaded.error()) ==
        "bench_mill: error: there is no machine of this name; did you mean 'bench-mill'?");
  CHECK(load_dialect("nowhere.toml").error().message == "there is no such file");
}

TEST_CASE("profiles are listed once, those in the first folder before the others", "[profile]") {
  Folder folder;
  folder.write("dialects/small-firmware.toml", "base = \"rs274ngc\"\ntitle = \"the shop's own\"\n");
  int found = 0;
  for (auto const& entry : list_profiles())
    if (entry.kind == ProfileKind::dialect && entry.name == "small-firmware") {
      ++found;
      CHECK(entry.title == "the shop's own");
    }
  CHECK(found == 1);
}
