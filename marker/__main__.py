from marker.cli import main

main()
