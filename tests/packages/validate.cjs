// Reads xAPI statements as a JSON list from standard input and writes what xapi-validation finds in each.
const path = require("node:path");
const validate = require(path.join(process.argv[2], "xapi-validation")).default;
const statements = JSON.parse(require("node:fs").readFileSync(0, "utf8"));
process.stdout.write(JSON.stringify(statements.map((statement) => validate(statement).map(String))));
