#!/bin/sh
# Rebuilds sample-data/*.bag and campaign.yaml from seeds.
# Needs Debian's python3-rosbag, python3-geometry-msgs, python3-sensor-msgs and python3-numpy.
set -eu
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
npx --no-install rolldown tools/makeSampleData.ts --platform node --file "$work/makeSampleData.mjs" --logLevel silent
node "$work/makeSampleData.mjs" "$work/columns"
cp "$work/columns/campaign.yaml" sample-data/campaign.yaml
/usr/bin/python3 sample-data/write_bags.py "$work/columns" sample-data
