#include "tests/command/run_program.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include <set>

using namespace restep::command;
using Catch::Matchers::Contains;
using nlohmann::json;

namespace {

/// A machine of 300 x 200 x 150 that can do everything else.
constexpr char const* machine =
    "profile = \"machine\"\ntitle = \"test\"\ndialect = \"rs274ngc\"\n[travel]\nleast = [0, 0, -150]\n"
    "most = [300, 200, 0]\n[feeds]\ncutting = [900, 900, 500]\n[retract]\nhow = \"clearance\"\n";

constexpr char const* program =
    "G21 G90 G54\nT3 M6\nS5000 M3\nG0 X0 Y0 Z20\nG1 Z-1 F200\nG1 X180 F400\nG0 Z20\nM5\nM30\n";

/// The findings of inspect as "code line".
std::set<std::string> findings(Run const& run) {
  std::set<std::string> found;
  json const report = json::parse(run.out);
  for (json const& one : report["findings"])
    found.insert(one["code"].get<std::string>() + " " + std::to_string(one["line"].get<int>()));
  return found;
}

struct Job {
  Folder folder;
  std::string file;

  explicit Job(std::string const& keys) {
    folder.write("machine.toml", machine);
    folder.write("part.nc", program);
    file = folder.write("job.toml", "program = \"part.nc\"\noutput = \"out.nc\"\nmachine = \"machine.toml\"\n"
                                    "tool = \"T3 = flat 6\"\n" +
                                        keys);
  }
  Run inspect(std::vector<std::string> more = {}) const {
    std::vector<std::string> arguments{"inspect", "--job", file, "--json", "-"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return run_program(arguments);
  }
};

} // namespace

TEST_CASE("a job and the command line know further work offsets", "[job]") {
  Job const job("[offsets]\n\"G54.1 P7\" = [130, 50, -100]\n");
  std::string text = program;
  job.folder.write("part.nc", text.replace(text.find("G54"), 3, "G54.1 P7"));
  CHECK(findings(job.inspect()).count("travel-exceeded 6") == 1); // X 310 of 300
  CHECK(job.inspect({"--offset", "G54.1 P7 = X100 Y50 Z-100"}).status == 0);
}

TEST_CASE("the job's offsets make the travel exact, for inspect as for rewrite", "[job]") {
  Job const inside("[offsets]\nG54 = [100, 50, -100]\n"), beyond("[offsets]\nG54 = [130, 50, -100]\n");
  CHECK(inside.inspect().status == 0);
  Run const refused = beyond.inspect();
  CHECK(refused.status == 1);
  CHECK(findings(refused).count("travel-exceeded 6") == 1); // X 310 of 300
  CHECK(run_program({"rewrite", "--job", inside.file}).status == 0);
  Run const rewrite = run_program({"rewrite", "--job", beyond.file});
  CHECK(rewrite.status == 1);
  CHECK_THAT(rewrite.err, Contains("X goes to 310 mm in machine coordinates"));
  CHECK_FALSE(beyond.folder.has("out.nc"));
}

TEST_CASE("a job that is empty or a remark alone changes nothing", "[job]") {
  Job const job("");
  Run const without = run_program({"inspect", job.folder.path("part.nc"), "--json", "-"});
  REQUIRE(without.status == 0);
  for (std::string const content : {"", "# to be filled"}) {
    std::string const empty = job.folder.write("empty.toml", content);
    Run const with = run_program({"inspect", job.folder.path("part.nc"), "--job", empty, "--json", "-"});
    CHECK(with.status == 0);
    CHECK(with.out == without.out);
  }
}

TEST_CASE("a job that is a folder cannot be read", "[job]") {
  Job const job("");
  Run const run = run_program({"rewrite", "--job", job.folder.path().string()});
  CHECK(run.status == 3);
  CHECK_THAT(run.err, Contains("cannot be read"));
}

TEST_CASE("an offset on the command line wins over the job's", "[job]") {
  Job const beyond("[offsets]\nG54 = [130, 50, -100]\n");
  CHECK(beyond.inspect({"--offset", "G54 = X100 Y50 Z-100"}).status == 0);
  CHECK(beyond.inspect({"--offset", "g54 = x5in y50 z-100"}).status == 1); // 127 + 180
  CHECK(beyond.inspect({"--offset", "G55 = X0 Y0 Z0"}).status == 1);
  CHECK(run_program({"rewrite", "--job", beyond.file, "--offset", "G54 = X100 Y50 Z-100"}).status == 0);
}

TEST_CASE("an offset that cannot be read is wrong usage", "[job]") {
  Job const job("");
  for (std::string const text :
       {"X1 Y2", "G53 = X1", "G54 =", "G54 = X", "G54 = X1 X2", "G54 = 5", "G54 = X1 A2"})
    CHECK(job.inspect({"--offset", text}).status == 2);
}

TEST_CASE("the job's stock decides how high rapids must be", "[job]") {
  Job const low(""), high("[stock]\nmin = [-10, -10, -20]\nmax = [190, 10, 18]\n");
  CHECK(run_program({"rewrite", "--job", low.file}).status == 0);
  CHECK(run_program({"rewrite", "--job", high.file}).status == 0);
  // The approach at Z20 is free above a part whose highest cut is Z-1, and not above stock up to Z18: 1 mm
  // to the safe height, 5 mm to that of retracts.
  CHECK_THAT(content_of(low.folder.path("out.nc")), !Contains("Z24"));
  CHECK_THAT(content_of(high.folder.path("out.nc")), Contains("Z24"));
}

TEST_CASE("the job's tool-map renumbers tools in the output", "[job]") {
  Job const job("[tool-map]\n3 = 13\n");
  CHECK(run_program({"rewrite", "--job", job.file}).status == 0);
  std::string const out = content_of(job.folder.path("out.nc"));
  CHECK_THAT(out, Contains("T13"));
  CHECK_THAT(out, !Contains("T3 "));
}

TEST_CASE("the job's lengths place the spindle under G43", "[job]") {
  Job const job("[offsets]\nG54 = [100, 50, -100]\n[lengths]\n3 = 90\n");
  job.folder.write("part.nc",
                   "G21 G90 G54\nT3 M6\nG43 H3\nS5000 M3\nG0 X0 Y0 Z20\nG1 Z-1 F200\nG1 X9\nG0 Z20\nM30\n");
  Run const run = job.inspect();
  CHECK(run.status == 1);
  CHECK(findings(run).count("travel-exceeded 5") == 1); // 20 - 100 + 90
}

TEST_CASE("keys of a job that make no sense are refused with their place", "[job]") {
  for (std::string const keys :
       {"[stock]\nmin = [0, 0, 0]\n", "[stock]\nmin = [0, 0, 0]\nmax = [1, 1, 0]\n",
        "[offsets]\nG54 = [1, 2]\n", "[offsets]\nG60 = [1, 2, 3]\n", "[tool-map]\n3 = 13\n4 = 13\n",
        "[tool-map]\nT3 = 1\n", "[lengths]\n3 = \"long\"\n", "[lengths]\n0 = 5\n"}) {
    Job const job(keys);
    Run const run = run_program({"rewrite", "--job", job.file});
    INFO(keys << run.err);
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Contains("job.toml:"));
  }
}

TEST_CASE("inspect takes machine, tools and program from a job and none of its outputs", "[job]") {
  Job const job("[offsets]\nG54 = [100, 50, -100]\n");
  CHECK(job.inspect().status == 0);
  CHECK_FALSE(job.folder.has("out.nc"));
  CHECK(run_program({"inspect"}).status == 2);
}

TEST_CASE("inspect tells the limits that rewrite would act on, and changes nothing", "[job]") {
  Job const job("");
  job.folder.write("part.nc",
                   "G21 G90\nT3 M6\nS5000 M3\nG0 X0 Y0 Z20\nG1 Z-1 F200\nG1 X18 F4000\nG0 Y9\nG0 Z20\nM30\n");
  Run const run = job.inspect();
  INFO(run.err);
  CHECK(run.status == 0);
  auto const found = findings(run);
  CHECK(found.count("clamp-feeds 6") == 1);
  CHECK(found.count("safe-retracts 7") == 1);
  CHECK(json::parse(run.out)["edits"].empty());
  Job const skipped("skip = \"clamp-feeds\"\n");
  skipped.folder.write("part.nc", content_of(job.folder.path("part.nc")));
  CHECK(findings(skipped.inspect()).count("clamp-feeds 6") == 0);
}
